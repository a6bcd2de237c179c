// Keeps the page of one piece of work up to date, and loads it anew when the state has changed.
// A page about something else names the work's page in data-work.
"use strict";
(() => {
  const SECOND = 1000;
  const look = async () => {
    const box = document.getElementById("progress");
    try {
      const answer = await fetch(`${box.dataset.work || ""}?as=json`, { headers: { Accept: "application/json" } });
      if (!answer.ok || answer.redirected) { location.reload(); return; }
      const now = await answer.json();
      if (now.over || now.begun !== (box.dataset.state === "running")) { location.reload(); return; }
      const bar = document.getElementById("bar");
      bar.max = now.steps || 1;
      bar.value = now.done;
      const step = document.getElementById("step");
      if (now.step && step.textContent !== now.step) step.textContent = now.step;
    } catch (fault) {
      // The connection is away for a moment: the page keeps what it shows and looks again.
    }
    setTimeout(look, SECOND);
  };
  document.addEventListener("DOMContentLoaded", () => setTimeout(look, SECOND));
})();

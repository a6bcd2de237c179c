// Draws each .chart from the Vega-Lite spec in the JSON script it names, in the theme's colours.
"use strict";
(() => {
  const theme = getComputedStyle(document.documentElement);
  const colour = (name) => theme.getPropertyValue("--" + name).trim();
  const names = ["ink", "deep", "sea", "alert", "muted"];

  const hatch = () => {
    const holder = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    holder.setAttribute("width", "0");
    holder.setAttribute("height", "0");
    holder.setAttribute("aria-hidden", "true");
    holder.classList.add("patterns");
    const pattern = document.createElementNS(holder.namespaceURI, "pattern");
    const set = { id: "hatch", width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" };
    Object.entries(set).forEach(([key, value]) => pattern.setAttribute(key, value));
    const ground = document.createElementNS(holder.namespaceURI, "rect");
    ground.setAttribute("width", "7"); ground.setAttribute("height", "7"); ground.setAttribute("fill", colour("sea"));
    const stroke = document.createElementNS(holder.namespaceURI, "path");
    stroke.setAttribute("d", "M0 0 V7"); stroke.setAttribute("stroke", colour("muted")); stroke.setAttribute("stroke-width", "1.6");
    pattern.append(ground, stroke);
    holder.append(pattern);
    document.body.append(holder);
  };

  const painted = (spec) => JSON.parse(JSON.stringify(spec), (key, value) => {
    if (key === "color" && value === "hatch") return "url(#hatch)";
    return key === "color" && names.includes(value) ? colour(value) : value;
  });

  const config = () => ({
    background: "transparent",
    font: "system-ui, sans-serif",
    view: { stroke: null },
    axis: {
      labelColor: colour("ink"), titleColor: colour("muted"), gridColor: colour("rule"), domainColor: colour("ink"),
      tickColor: colour("rule"), labelFontSize: 13, titleFontSize: 13, titleFontWeight: "normal",
    },
    axisX: { grid: false },
    text: { fontSize: 13 },
  });

  const draw = (holder) => {
    const spec = JSON.parse(document.getElementById(holder.dataset.spec).textContent);
    window.vegaEmbed(holder, { ...painted(spec), config: config() }, {
      ast: true, actions: false, renderer: "svg", defaultStyle: false, tooltip: { disableDefaultStyle: true },
    }).then(() => holder.querySelector("svg").setAttribute("aria-hidden", "true"));
  };

  document.addEventListener("DOMContentLoaded", () => {
    if (!window.vegaEmbed) return; // The table under each chart says the same.
    hatch();
    document.querySelectorAll(".chart[data-spec]").forEach(draw);
  });
})();

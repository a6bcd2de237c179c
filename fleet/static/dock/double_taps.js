// A wet thumb taps twice. The second tap would answer the next step, which nobody has looked at yet, or
// find a sign there: a button is heard only once its screen has stood for a moment.

const MOMENT = 250; // Milliseconds; a second tap of the same thumb comes sooner, a look takes longer.

let shownAt = -MOMENT;

/** Another screen has just been shown. */
export function screenShown() {
  shownAt = performance.now();
}

/** Whether what one taps now is meant for the screen that is shown. */
export const hears = () => performance.now() - shownAt > MOMENT;

/** Leave out taps on buttons while their screen is that new; keys are meant. */
export function leaveOutSecondTaps() {
  const heard = (event) => {
    const tapped = event.detail > 0 && event.target.closest?.("#content button");
    if (!tapped || hears()) return;
    event.preventDefault();
    event.stopPropagation();
  };
  addEventListener("click", heard, true);
}

// Elements made by hand: text is always text, so that nothing typed or stored becomes markup.

const SVG = "http://www.w3.org/2000/svg";

/** An element with attributes, listeners ({onclick}) and children; false and null are left out. */
export function h(tag, given = {}, ...children) {
  return filled(document.createElement(tag), given, children);
}

/** The same in SVG. */
export function s(tag, given = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), given, children);
}

function filled(element, given, children) {
  for (const [name, value] of Object.entries(given)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(2).filter((each) => each || each === 0));
  return element;
}

/** A button; `quiet` unless it is what one does next. `key` keeps the focus when drawn anew. */
export function button(words, onclick, { main = false, key = null, ...given } = {}) {
  const kind = { class: main ? "button" : "button quiet", type: "button", "data-key": key };
  return h("button", { ...kind, ...given, onclick }, words);
}

/** The drawing of a sign from the one sheet that holds them all; its words stand beside it. */
export function picture(sign) {
  const sheet = document.getElementById("content").dataset.signs;
  const use = s("use", { href: `${sheet}#${sign.picture}` });
  return s("svg", { class: "sign", viewBox: "0 0 96 56", "aria-hidden": "true" }, use);
}

/** Radio buttons as one row of targets, so that a choice is a tap. */
export function choice(legend, name, options, chosen, onchange) {
  return h(
    "fieldset",
    { class: "choice" },
    h("legend", {}, legend),
    options.map(([value, words]) =>
      h(
        "label",
        {},
        h("input", {
          type: "radio",
          name,
          value,
          checked: value === chosen,
          "data-key": `${name}-${value}`,
          onchange: () => onchange(value),
        }),
        h("span", {}, words),
      ),
    ),
  );
}

/** Put the screen in place. The focus stays where it was, or goes to the heading of a new one. */
export function show(screen, isNew) {
  const place = document.getElementById("content");
  const key = document.activeElement?.dataset?.key;
  place.replaceChildren(screen);
  if (isNew) {
    window.scrollTo(0, 0);
    const heading = place.querySelector("h1");
    heading?.setAttribute("tabindex", "-1");
    heading?.focus({ preventScroll: true });
  } else if (key) {
    place.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
  }
}

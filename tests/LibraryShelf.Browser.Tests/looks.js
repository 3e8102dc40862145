// What a page must hold to in the other ways of looking at it (docs/look.md). Each gives what does not, in words; none where all is well.
window.looks = (() => {
  const name = (e) => `${e.tagName.toLowerCase()}${e.id ? "#" + e.id : ""}.${e.getAttribute("class") ?? ""} “${(e.textContent || e.name || "").trim().slice(0, 40)}”`;
  const seen = (e) => e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && e.getClientRects().length > 0;
  const pressable = () => [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")].filter(seen);

  // A link among words is as tall as they are (WCAG 2.2, 2.5.8, "Inline"); one that stands alone is a target.
  const stands = (e) => {
    if (e.tagName !== "A" || getComputedStyle(e).display !== "inline") return true;
    const block = e.closest("p, li, dd, dt, td, th, h1, h2, h3, h4, figcaption, caption, legend, label, div, section, main, footer, nav, header");
    return block.innerText.trim() === e.innerText.trim();
  };

  // What is pressed for a ticked field is its label.
  const target = (e) => (e.matches("input[type=checkbox], input[type=radio]") && e.labels.length > 0 ? e.labels[0] : e);

  return {
    small: (least) => pressable().filter(stands)
      .map((e) => [e, target(e).getBoundingClientRect()])
      .filter(([, r]) => r.width > 1 && (r.width < least - 0.5 || r.height < least - 0.5))
      .map(([e, r]) => `only ${Math.round(r.width)} x ${Math.round(r.height)} px to press: ${name(e)}`),

    unmarked: () => pressable().filter((e) => {
      e.focus({ focusVisible: true, preventScroll: true });
      if (document.activeElement !== e) return false;
      // The mark of a ticked field may stand around its label.
      return ![e, target(e)].some((m) => getComputedStyle(m).outlineStyle !== "none" && parseFloat(getComputedStyle(m).outlineWidth) >= 2);
    }).map((e) => `focus is not seen: ${name(e)}`),

    moving: () => [...document.querySelectorAll("*")].filter((e) => {
      const s = getComputedStyle(e);
      const longest = (list) => Math.max(...list.split(",").map(parseFloat));
      return (s.animationName !== "none" && longest(s.animationDuration) > 0.01) || longest(s.transitionDuration) > 0.01;
    }).map((e) => `moves all the same: ${name(e)}`),

    // Forced colours take grounds away, and a bar's value is a ground alone.
    emptied: () => [...document.querySelectorAll("progress")].filter(seen).filter((e) => getComputedStyle(e).forcedColorAdjust !== "none")
      .map((e) => `its value is not seen: ${name(e)}`),

    // Grounds are not printed: words have to be dark by themselves. A box's are upon its picture.
    onPaper: () => [...document.querySelectorAll("body *")].filter((e) => {
      if (e.closest("svg, .hidden-words, .boxes") || !seen(e) || ![...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim())) return false;
      const [r, g, b] = getComputedStyle(e).color.match(/[\d.]+/g).map(Number);
      return 0.2126 * r + 0.7152 * g + 0.0722 * b > 128;
    }).map((e) => `too pale for paper: ${name(e)}`)
      .concat([...document.querySelectorAll("button")].filter(seen).map((e) => `can't be pressed on paper: ${name(e)}`)),
  };
})();

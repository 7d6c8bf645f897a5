/* Our own components, see components.py. */
"use strict";

(() => {
  const FOCUSED = "a[href], button, [tabindex]";
  const SCROLLED = ".drive-list, .scrolling";

  // What identifies an element after it is made anew.
  const known = (element) =>
    element.dataset.drive || element.dataset.mark || element.ariaLabel || element.textContent;

  // Only of these is the position read and set: each costs a layout of the whole page.
  const scrolled = new WeakSet();
  document.addEventListener("scroll", ({ target }) => scrolled.add(target), true);

  // Focus and scrolling stay where they are.
  function fill(box, html) {
    const active = box.contains(document.activeElement) ? document.activeElement : null;
    const at = [...box.querySelectorAll(SCROLLED)].map(
      (e) => scrolled.has(e) && [e.scrollLeft, e.scrollTop],
    );
    box.innerHTML = html;
    box.querySelectorAll(SCROLLED).forEach((e, i) => at[i] && e.scrollTo(...at[i]));
    if (active) {
      [...box.querySelectorAll(FOCUSED)]
        .find((e) => e.tagName === active.tagName && known(e) === known(active))
        ?.focus({ preventScroll: true });
    }
    box.dispatchEvent(new CustomEvent("lightplan:filled", { bubbles: true }));
  }

  window.lightplan_components = {
    Markup({ tag, html, id, className, role, title, ...others }) {
      const box = React.useRef(null);
      React.useLayoutEffect(() => fill(box.current, html || ""), [html]);
      const aria = Object.entries(others).filter(([name]) => name.startsWith("aria-"));
      const props = { ref: box, id, className, role, title, ...Object.fromEntries(aria) };
      return React.createElement(tag, props);
    },

    // A box has no size until it is visible; until then it stays empty.
    Later({ children }) {
      const [shown, show] = React.useState(false);
      const box = React.useRef(null);
      React.useLayoutEffect(() => {
        if (shown) return undefined;
        const watch = new ResizeObserver(([{ target }]) => show(target.checkVisibility()));
        watch.observe(box.current);
        return () => watch.disconnect();
      }, [shown]);
      if (shown) return React.createElement(React.Fragment, null, children);
      return React.createElement("div", { ref: box, style: { minHeight: "1px" } });
    },

    // Sentences are shown first: drawing takes longer than the rest of the page.
    Chart(props) {
      const figure = React.useDeferredValue(props.figure);
      if (!figure) return React.createElement("div", { id: props.id });
      return React.createElement(window.dash_core_components.Graph, { ...props, figure });
    },
  };
})();

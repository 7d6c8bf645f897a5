/* Tells screen readers that a field with a list is a combobox, open or closed. The
   form's components do not. */
"use strict";

(() => {
  const FIELD = ".mantine-Select-input";

  function describe(field) {
    const open = field.dataset.expanded === "true" ? "true" : "false";
    if (field.getAttribute("role") !== "combobox") field.setAttribute("role", "combobox");
    if (field.getAttribute("aria-expanded") !== open)
      field.setAttribute("aria-expanded", open);
  }

  new MutationObserver((changes) => {
    for (const { type, target } of changes)
      if (type === "attributes" && target.matches(FIELD)) describe(target);
    document.querySelectorAll(`${FIELD}:not([role])`).forEach(describe);
  }).observe(document, {
    attributeFilter: ["data-expanded"],
    childList: true,
    subtree: true,
  });
})();

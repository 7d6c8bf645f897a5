/* A field that opens a list is to ears what it is to eyes: a combobox, open or shut.
   The form's own components leave both unsaid. */
"use strict";

(() => {
  const FIELD = ".mantine-Select-input";

  function tell(field) {
    const open = field.dataset.expanded === "true" ? "true" : "false";
    if (field.getAttribute("role") !== "combobox") field.setAttribute("role", "combobox");
    if (field.getAttribute("aria-expanded") !== open)
      field.setAttribute("aria-expanded", open);
  }

  new MutationObserver((changes) => {
    for (const { type, target } of changes)
      if (type === "attributes" && target.matches(FIELD)) tell(target);
    document.querySelectorAll(`${FIELD}:not([role])`).forEach(tell);
  }).observe(document, {
    attributeFilter: ["data-expanded"],
    childList: true,
    subtree: true,
  });
})();

/* Reading a GPX file on the loop's page. */
"use strict";

(() => {
  const LARGEST_MB = 8; // gpx.LARGEST_BYTES
  const say = (children) =>
    window.dash_clientside.set_props("loop-said", { children, className: "problem" });

  function hand(file) {
    if (file.size > LARGEST_MB * 1e6) {
      const size = (file.size / 1e6).toFixed(1);
      say(`${file.name} must be at most ${LARGEST_MB} MB, got ${size} MB. The legs are unchanged.`);
      return;
    }
    const reader = new FileReader();
    reader.onerror = () => say(`${file.name} could not be read. The legs are unchanged.`);
    reader.onload = () =>
      window.dash_clientside.set_props("loop-file", {
        // The time makes it a new value even if the same file is read again.
        data: { name: file.name, contents: reader.result, at: Date.now() },
      });
    reader.readAsDataURL(file);
  }

  let input; // kept, or a browser may drop it while its dialog is open

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.loop = {
    open(clicks) {
      if (!clicks) return window.dash_clientside.no_update;
      input = document.createElement("input");
      input.type = "file";
      input.accept = ".gpx,application/gpx+xml,application/xml,text/xml";
      input.onchange = () => input.files[0] && hand(input.files[0]);
      input.click();
      return window.dash_clientside.no_update;
    },
    // Scrolls only the list: the page stays where it is.
    reveal() {
      requestAnimationFrame(() => {
        const list = document.getElementById("loop-drives");
        const chosen = list?.querySelector("[aria-pressed=true]");
        if (!chosen) return;
        const foot = list.querySelector(".loop-count")?.offsetHeight ?? 0;
        const seen = list.getBoundingClientRect();
        const box = chosen.getBoundingClientRect();
        if (box.top < seen.top) list.scrollTop += box.top - seen.top;
        else if (box.bottom > seen.bottom - foot)
          list.scrollTop += box.bottom - seen.bottom + foot;
      });
      return window.dash_clientside.no_update;
    },
  };
})();

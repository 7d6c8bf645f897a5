/* Where to stop: the readout follows the slider at once, the page once it rests. */
"use strict";

(() => {
  const keep = () => window.dash_clientside.no_update;
  const REST_MS = 90;
  let turn = 0;
  let drive = null; // the drive shown
  let moved = false; // whether a person moved the slider while it was shown

  const MOVES = /^(Arrow|Page|Home|End)/;
  const note = (event) => {
    if (event.type === "keydown" && !MOVES.test(event.key)) return;
    if (event.target.closest?.("#stop-minute")) moved = true;
  };
  document.addEventListener("pointerdown", note, true);
  document.addEventListener("keydown", note, true);

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.stop = {
    choose(drive, selected) {
      return drive && drive !== selected ? drive : keep();
    },

    read(minute, readings) {
      if (!readings) return "";
      const i = Math.min(minute, readings.lines.length - 1);
      const [time, rest] = readings.lines[i];
      const thumb = document.querySelector("#stop-minute [role=slider]");
      if (thumb) thumb.setAttribute("aria-valuetext", time);
      const span = (className, children) => ({
        namespace: "dash_html_components",
        type: "Span",
        props: { className, children },
      });
      return [span("time", time), span("", rest)];
    },

    // The second number makes every settled minute a new value: the page must also
    // follow changed choices, which bring new readings of the same minute.
    async settle(minute) {
      const mine = ++turn;
      await new Promise((done) => window.setTimeout(done, REST_MS));
      return mine === turn ? [minute, mine] : keep();
    },

    // Only a time that a person moved to goes into the address; any other would be
    // carried over to another drive.
    keep(at, readings) {
      if (!at || !readings) return keep();
      if (drive !== readings.drive) {
        const first = drive === null;
        drive = readings.drive;
        if (!first) {
          moved = false;
          return "";
        }
      }
      return moved && readings.lines[at[0]] ? readings.lines[at[0]][0] : keep();
    },
  };
})();

/* Where to stop: the minute read off at once, the page once the hand rests. */
"use strict";

(() => {
  const keep = () => window.dash_clientside.no_update;
  const REST_MS = 90;
  let turn = 0;

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

    // The second number makes every settling a new value: the page follows the
    // choices too, which are behind new readings of the same minute.
    async settle(minute) {
      const mine = ++turn;
      await new Promise((done) => window.setTimeout(done, REST_MS));
      return mine === turn ? [minute, mine] : keep();
    },

    // The time shown goes into the address with the choices.
    keep(at, readings) {
      return at && readings && readings.lines[at[0]] ? readings.lines[at[0]][0] : keep();
    },
  };
})();

/* What runs in the browser. Each function is a Dash clientside callback. */
"use strict";

(() => {
  const keep = () => window.dash_clientside.no_update;
  const triggered = () => window.dash_clientside.callback_context.triggered_id;
  const dusk = window.matchMedia("(prefers-color-scheme: dark)");

  // Before anything is drawn, so that a dark page never flashes light.
  function resolve(choice) {
    const wanted = choice && choice !== "auto" ? choice : dusk.matches ? "dusk" : "paper";
    document.documentElement.dataset.theme = wanted;
    return wanted;
  }
  const remembered = "lightplan-colours";
  resolve(window.localStorage.getItem(remembered));

  const element = (type, props) => ({ namespace: "dash_html_components", type, props });
  const span = (className, children) => element("Span", { className, children });

  const sessions = ["morning", "evening", "night"];
  function inTime(a, b) {
    const [day, other] = [a.slice(0, 10), b.slice(0, 10)];
    if (day !== other) return day < other ? -1 : 1;
    return sessions.indexOf(a.slice(11)) - sessions.indexOf(b.slice(11));
  }

  // The chosen drive and the marks change here first: rows and table are markup, which
  // is updated at once and whenever it comes from the server.
  let selected = "";
  let marked = new Set();
  const listed = (text) => new Set((text || "").split(",").filter(Boolean));

  // The first drive is shown if none is chosen.
  function shownDrive() {
    const rows = document.querySelectorAll("[data-drive]");
    const keys = [...rows].map((row) => row.dataset.drive);
    return keys.includes(selected) ? selected : keys.sort(inTime)[0];
  }

  function write(element, name, text) {
    if (element.getAttribute(name) !== text) element.setAttribute(name, text);
  }

  function agree() {
    const shown = shownDrive();
    document.querySelectorAll("[data-drive]").forEach((row) => {
      write(row, "aria-pressed", `${row.dataset.drive === shown}`);
      const mark = row.querySelector(".marked");
      if (!mark) return;
      const [text, spoken] = marked.has(row.dataset.drive) ? [" marked", "; marked"] : ["", ""];
      if (mark.textContent !== text) mark.textContent = text;
      write(row, "aria-label", row.ariaLabel.replace(/; marked$/, "") + spoken);
    });
    document.querySelectorAll("[data-mark]").forEach((button) => {
      const on = marked.has(button.dataset.mark);
      write(button, "aria-pressed", `${on}`);
      const text = on ? "marked" : "mark";
      if (button.textContent !== text) button.textContent = text;
    });
  }

  function toggle(key) {
    if (!marked.delete(key)) marked.add(key);
    agree();
    const value = [...marked].sort().join(",");
    window.dash_clientside.set_props("book", { value });
  }

  function select(key) {
    selected = key;
    agree();
    window.dash_clientside.set_props("drive", { data: key });
  }

  document.addEventListener("lightplan:filled", agree);
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-drive], [data-mark]");
    if (!button) return;
    const { drive, mark } = button.dataset;
    if (mark) toggle(mark);
    else if (drive !== selected) select(drive);
  });

  // A query string with the marks, at the position where the server writes them.
  function withMarks(search) {
    const parts = search.slice(1).split("&").filter((part) => !part.startsWith("book="));
    const after = parts.findIndex((part) => part.startsWith("order="));
    const value = [...marked].sort().join(",");
    if (value) parts.splice(after + 1, 0, `book=${encodeURIComponent(value)}`);
    return `?${parts.join("&")}`;
  }

  function moveCursor(minute) {
    const graph = document.querySelector("#chart .js-plotly-plot");
    if (!graph || !graph.layout || !graph.layout.shapes) return;
    const index = graph.layout.shapes.findIndex((shape) => shape.name === "cursor");
    if (index < 0 || graph.layout.shapes[index].x0 === minute) return;
    window.Plotly.relayout(graph, {
      [`shapes[${index}].x0`]: minute,
      [`shapes[${index}].x1`]: minute,
    });
  }

  function slots(...given) {
    const fields = given.slice(-30);
    const usual = given[given.length - 31];
    const rows = [0, 1, 2, 3, 4, 5].map((i) => fields.slice(5 * i, 5 * i + 5));
    const empty = [null, "", "", "", ""];
    const cause = triggered();
    if (cause === "add-rig") {
      const used = rows.map((row) => row[0]);
      const next = usual.rigs.find((name) => !used.includes(name)) || usual.rigs[0];
      const free = rows.findIndex((row) => !row[0]);
      if (free >= 0) rows[free] = [next, "", "", "", ""];
    } else if (/^slot-\d-remove$/.test(cause)) {
      rows.splice(Number(cause[5]), 1);
      rows.push(empty);
    } else if (/^rig-\d$/.test(cause)) {
      // Another lens has other focal lengths: back to its own proposals.
      const i = Number(cause[4]);
      rows[i] = [rows[i][0], "", "", "", ""];
    } else {
      return [...fields, ...rows.map(keep)];
    }
    const shown = rows.map((row) => (row[0] ? "slot" : "slot hidden"));
    return [...rows.flat(), ...shown];
  }

  // Going back in the browser brings back what was typed, right or wrong.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("nav[aria-label=Pages] a[href*='?']");
    if (link) window.history.replaceState(window.history.state, "", link.search);
  });

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.lightplan = {
    theme(choice) {
      window.localStorage.setItem(remembered, choice);
      const theme = resolve(choice);
      return [theme, theme === "dusk" ? "dark" : "light"];
    },

    // Choices live in the address, without a history entry for each. Links to other
    // pages carry what is typed even while it is wrong; those pages say what is wrong.
    address(link, typed, drive, marks, hrefs) {
      selected = drive || "";
      marked = listed(marks);
      agree();
      const chosen = drive ? `&drive=${encodeURIComponent(drive)}` : "";
      if (link) window.history.replaceState(window.history.state, "", withMarks(link) + chosen);
      if (!typed) return [keep(), hrefs.map(keep)];
      const carried = withMarks(typed) + chosen;
      return [keep(), hrefs.map((href) => href.split("?")[0] + carried)];
    },

    // The sky of the selected drive alone.
    sky(sky, skies) {
      const drive = shownDrive();
      if (!drive) return keep();
      const pairs = new Map(
        (skies || "").split(",").filter(Boolean).map((pair) => pair.split(":")),
      );
      if ((pairs.get(drive) || "") === sky) return keep();
      if (sky) pairs.set(drive, sky);
      else pairs.delete(drive);
      return [...pairs].map((pair) => pair.join(":")).join(",");
    },

    drawer(toggled, done) {
      const button = document.getElementById("choices-button");
      const closed = button.getAttribute("aria-expanded") !== "true";
      const open = triggered() === "choices-button" && closed;
      if (!open) button.focus();
      return [open ? "controls open" : "controls", open ? "true" : "false"];
    },

    place(name, usual) {
      const [sky, air, cover] = usual.places[name] || [keep(), keep(), keep()];
      return [usual.places[name] ? "hidden" : "", sky, air, cover];
    },

    // The pages of a year show the year of the trip.
    year(first) {
      return /^(19|20)\d\d-/.test(first || "") ? first.slice(0, 4) : keep();
    },

    slots,

    // The letters after those of the rigs in use are hidden, see year.css.
    letter(...given) {
      const chosen = given.pop();
      const used = [..."ABCDEF"].slice(0, given.filter(Boolean).length);
      if (!used.length || used.includes(chosen)) return keep();
      return used[used.length - 1];
    },

    readout(minute, minutes) {
      if (!minutes || !minutes.head) return "";
      const i = Math.min(minute, minutes.head.length - 1);
      moveCursor(i);
      const thumb = document.querySelector("#minute [role=slider]");
      if (thumb) thumb.setAttribute("aria-valuetext", minutes.head[i][0]);
      const [time, light] = minutes.head[i];
      const rigs = minutes.rigs.map((iso, rig) =>
        element("Span", {
          children: [
            span(`rig rig-${minutes.names[rig][0]}`, minutes.names[rig]),
            `: ${iso[i]}`,
          ],
        }),
      );
      return [span("time", time), span("", light), ...rigs];
    },

    hover(hovered, clicked) {
      const cause = window.dash_clientside.callback_context.triggered[0];
      const data = cause && cause.prop_id.endsWith("clickData") ? clicked : hovered;
      if (!data || !data.points || !data.points.length) return keep();
      return Math.round(data.points[0].x);
    },
  };
})();

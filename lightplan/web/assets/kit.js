/* The user's places and kit, as this browser keeps them. Each function of the
   second half is a Dash clientside callback. */
"use strict";

(() => {
  const KEY = "lightplan-catalog"; // ids.OWN_CATALOG
  const DRAFTS = "lightplan-drafts";
  const AT = "lightplan-entry";
  const keep = () => window.dash_clientside.no_update;
  const cause = () => window.dash_clientside.callback_context.triggered_id;
  const pressed = () =>
    Boolean((window.dash_clientside.callback_context.triggered[0] || {}).value);
  const say = (id, props) => window.dash_clientside.set_props(id, props);

  function held(storage, key) {
    try {
      return JSON.parse(storage.getItem(key));
    } catch {
      return null; // not written by us
    }
  }

  const hold = (storage, key, value) => storage.setItem(key, JSON.stringify(value));

  function stored() {
    const record = held(window.localStorage, KEY);
    return record && record.text ? record : null;
  }

  const revision = (record) => (record && record.revision) || null;
  const nothingKept = { text: "", revision: null };
  let shown = ""; // the text that the visible page was made from
  let focusNext = false;

  const drafts = () => held(window.sessionStorage, DRAFTS) || {};

  function draft(key, lines) {
    const all = drafts();
    if (lines) all[key] = lines;
    else delete all[key];
    hold(window.sessionStorage, DRAFTS, all);
  }

  // Texts as one string, to compare them; an empty field counts as none.
  const written = (lines) =>
    JSON.stringify(
      lines
        .filter(([, , , text]) => text !== "")
        .map((line) => line.join("\u0000"))
        .sort(),
    );

  const another = "Another tab of this browser has changed your places and kit";

  window.lightplan = {
    // The server's page is made from the server's file. A browser that keeps a catalog
    // does not draw it, so that a link to one of its own places stays intact.
    leaveOut(layout) {
      if (!stored()) return;
      const root = layout.props.children.find((part) => part.props.id === "root");
      if (root) root.props.children = [];
    },
  };

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.kit = {
    visit() {
      const record = stored();
      const text = record ? record.text : "";
      if (text === shown) return keep();
      shown = text;
      if (document.getElementById("kit-form")) {
        say("kit-question", { children: `${another}; this page shows them as they were.` });
        say("kit-ask", { className: "ask newer" });
        return keep();
      }
      const { pathname, search } = window.location;
      return { path: pathname, search, record };
    },

    pick(clicks, names) {
      const id = cause();
      if (!id || !pressed()) return keep();
      focusNext = true;
      say("kit-said", { children: "", className: "" });
      return { kind: id.kind, name: id.index < 0 ? "" : names[id.kind][id.index] };
    },

    // Which entry to show, with unsaved texts, also after a reload.
    view(base, at, discarded, original) {
      if (cause() === "kit-discard" && original) draft(original.draft, null);
      if (at) hold(window.sessionStorage, AT, at);
      return { at: at || held(window.sessionStorage, AT), drafts: drafts() };
    },

    typed(values, fields, original) {
      if (focusNext) {
        focusNext = false;
        document.getElementById("kit-title").focus();
      }
      const lines = fields.map(({ part, row, key }, i) => [
        part,
        row,
        key,
        values[i] === null || values[i] === undefined ? "" : String(values[i]),
      ]);
      const same = written(lines) === written(original.lines);
      draft(original.draft, same ? null : lines);
      if (same) return ["", "quiet hidden"];
      return ["Not saved yet.", "quiet"];
    },

    keep(wanted) {
      const nothing = new Array(7).fill(keep());
      const button = cause();
      const done = (said, className) => [
        keep(), keep(), said, className, "hidden", "", keep(),
      ];
      if (button === "kit-no") return done("Nothing was changed.", "");
      if (button === "kit-latest") {
        const now = stored();
        shown = now ? now.text : "";
        const base = now || nothingKept;
        return [base, keep(), "This is the newer one.", "", "hidden", "", keep()];
      }
      if (!wanted) return nothing;
      const asking = (question, className, yes) => [
        keep(), keep(), "", "", className, question, yes || keep(),
      ];
      if (revision(stored()) !== wanted.base) {
        return asking(`${another}; yours is not saved yet.`, "ask both");
      }
      if (wanted.ask && button !== "kit-yes") {
        return asking(wanted.ask, "ask sure", wanted.yes);
      }
      const record = wanted.text
        ? { text: wanted.text, revision: `${Date.now()}-${Math.random()}` }
        : null;
      if (!record) window.localStorage.removeItem(KEY);
      else if (!window.localStorage.keeps(KEY, JSON.stringify(record)))
        return done("This browser could not save it: its storage is full or off.", "problem");
      shown = wanted.text;
      say(KEY, { data: record });
      if (wanted.draft) draft(wanted.draft, null);
      if (wanted.left) draft(`${wanted.kind}:${wanted.name}`, wanted.left);
      const at = wanted.kind ? { kind: wanted.kind, name: wanted.name } : null;
      if (at) hold(window.sessionStorage, AT, at);
      const base = record || nothingKept;
      return [base, at || keep(), wanted.said, "", "hidden", "", keep()];
    },

    both() {
      if (!pressed()) return keep();
      return { record: stored(), asked: Date.now() };
    },

    open(clicks) {
      if (!pressed()) return keep();
      const input = document.querySelector("#kit-upload input[type=file]");
      input.accept = ".toml,application/toml,text/plain"; // the user may override it
      input.click();
      return keep();
    },
  };
})();

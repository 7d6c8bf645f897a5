/* Learning from the user's frames: reads their headers, piece by piece, and puts the
   exposures into a store of this tab. Each function at the end is a Dash clientside
   callback. */
"use strict";

(() => {
  const STORE = "learn-frames"; // ids.LEARN_FRAMES
  const MOST_ROUNDS = 8; // pieces of one header
  const MOST_FILES = 32; // in one request; a table goes alone
  const keep = () => window.dash_clientside.no_update;
  const cause = () => window.dash_clientside.callback_context.triggered_id;
  const say = (id, props) => window.dash_clientside.set_props(id, props);
  const progress = (text) => say("learn-progress", { children: text });
  const number = (value) => value.toLocaleString("en");
  let turn = 0; // changes on "Forget", which stops a reading under way
  let reading = Promise.resolve(); // one choice of files after the other
  let held = null; // what the store holds
  let lost = new Set(); // files dropped so far, so that none counts twice

  // ---------------------------------------------------------- which files

  async function below(entry) {
    if (entry.isFile) {
      const file = await new Promise((yes) => entry.file(yes, () => yes(null)));
      return [{ name: entry.fullPath.slice(1), file }];
    }
    const reader = entry.createReader();
    const found = [];
    for (;;) {
      const some = await new Promise((yes) => reader.readEntries(yes, () => yes([])));
      if (!some.length) return found; // it returns about a hundred at a time
      for (const each of some) found.push(...(await below(each)));
    }
  }

  // A folder that holds all the others is no group: drop it from the names.
  function named(files) {
    const tops = new Set(files.map(({ name }) => name.split("/")[0]));
    const deep = files.some(({ name }) => name.split("/").length > 2);
    if (tops.size !== 1 || !deep) return files;
    return files.map(({ name, file }) => ({ name: name.replace(/^[^/]*\//, ""), file }));
  }

  function choose(folder) {
    const input = document.createElement("input");
    input.type = "file";
    input.multiple = true;
    input.webkitdirectory = folder;
    input.addEventListener("change", () =>
      add(
        [...input.files].map((file) => ({ name: file.webkitRelativePath || file.name, file })),
      ),
    );
    input.click();
  }

  // ---------------------------------------------------------- reading

  const ending = (name) => (name.match(/\.[^./]*$/) || [""])[0].toLowerCase();

  function first(name, file, can) {
    if (can.tables.includes(ending(name))) {
      return file.size <= can.batch ? [[0, file.size]] : [];
    }
    // Of a file that is no frame only the name leaves the browser.
    return can.endings.includes(ending(name)) ? [[0, Math.min(file.size, can.piece)]] : [];
  }

  const weight = (item) => item.pieces.reduce((sum, [, length]) => sum + length, 0);

  function batch(queue, most) {
    const taken = [];
    let bytes = 0;
    while (queue.length && taken.length < MOST_FILES) {
      bytes += weight(queue[0]);
      if (taken.length && (bytes > most || queue[0].alone || taken[0].alone)) break;
      taken.push(queue.shift());
    }
    return taken;
  }

  async function bytesOf(item) {
    const pieces = item.pieces.map(([offset, length]) =>
      item.file.slice(offset, offset + length).arrayBuffer(),
    );
    return { item, data: await Promise.all(pieces) };
  }

  async function ask(path, readable) {
    const index = readable.map(({ item }) => [item.name, item.file.size, item.pieces]);
    const text = new TextEncoder().encode(JSON.stringify(index));
    const length = new DataView(new ArrayBuffer(4));
    length.setUint32(0, text.length);
    const body = new Blob([length, text, ...readable.flatMap(({ data }) => data)]);
    const response = await fetch(path, { method: "POST", body });
    if (!response.ok) throw new Error(String(response.status));
    return response.json();
  }

  // The same file has the same name, whatever its folder, the same time and the same
  // exposure.
  const identity = ([name, ...row]) =>
    JSON.stringify([name.split("/").pop(), ...row.slice(0, 7)]);

  // Adds to what is held. If a file comes again, its new row is kept: its folder or
  // its table may now name another group.
  function ledger(most) {
    const before = held || { frames: [], dropped: [] };
    const rows = new Map(before.frames.map((row) => [identity(row), row]));
    const counts = new Map(
      before.dropped.map(([reason, count, example]) => [reason, [count, example]]),
    );
    const gone = new Set(lost);
    let [added, again] = [0, 0];
    const drop = (name, reason) => {
      const file = JSON.stringify([name, reason]);
      if (gone.has(file)) return;
      gone.add(file);
      const [count, example] = counts.get(reason) || [0, name];
      counts.set(reason, [count + 1, example]);
    };
    const take = (frames) => {
      for (const row of frames) {
        const key = identity(row);
        if (rows.has(key)) again += 1;
        else if (rows.size < most) added += 1;
        else {
          drop(row[0], `more than ${number(most)} frames`);
          continue;
        }
        rows.set(key, row);
      }
    };
    const keep = () => {
      lost = gone;
      held = {
        frames: [...rows.values()],
        dropped: [...counts].map(([reason, [count, example]]) => [reason, count, example]),
      };
      say(STORE, { data: held });
    };
    const sentence = () => {
      const frames = added ? number(added) : "no";
      const known = again ? `, ${number(again)} ${again === 1 ? "was" : "were"} here already` : "";
      return `${frames} frame${added > 1 ? "s" : ""} added${known}`;
    };
    return { drop, take, keep, sentence };
  }

  function add(found) {
    const mine = turn;
    reading = reading.then(() => read(found, mine)).catch(console.error);
  }

  async function read(found, mine) {
    if (!found.length || mine !== turn) return;
    const { dataset } = document.getElementById("learn-drop");
    const can = {
      endings: dataset.endings.split(" "),
      tables: dataset.tables.split(" "),
      piece: Number(dataset.piece),
      batch: Number(dataset.batch),
    };
    const account = ledger(Number(dataset.most));
    const queue = [];
    for (const { name, file } of named(found)) {
      const alone = can.tables.includes(ending(name));
      if (file) queue.push({ name, file, alone, pieces: first(name, file, can), rounds: 0 });
      else account.drop(name, "cannot be opened");
    }
    let done = found.length - queue.length;
    let trouble = "";
    while (queue.length) {
      progress(`${number(done)} of ${number(found.length)} read`);
      const sent = [];
      for (const item of batch(queue, can.batch)) {
        try {
          sent.push(await bytesOf(item));
        } catch {
          account.drop(item.name, "cannot be opened"); // moved, or a card taken out
          done += 1;
        }
      }
      try {
        const answers = await ask(dataset.path, sent);
        if (mine !== turn) return;
        answers.forEach((answer, i) => {
          const { item } = sent[i];
          if (answer.more && item.rounds < MOST_ROUNDS) {
            item.pieces.push(answer.more);
            item.rounds += 1;
            queue.push(item);
            return;
          }
          done += 1;
          if (answer.more) account.drop(item.name, "its header is scattered over the file");
          else {
            account.take(answer.frames);
            answer.dropped.forEach(([name, reason]) => account.drop(name, reason));
          }
        });
      } catch {
        trouble = " Then lightplan did not answer: is it still running?";
        break;
      }
    }
    if (mine !== turn) return;
    const files = `${number(done)} of ${number(found.length)} file${found.length > 1 ? "s" : ""}`;
    progress(done ? `${files} read: ${account.sentence()}.${trouble}` : trouble.trim());
    if (done) account.keep();
  }

  // ---------------------------------------------------------- the page

  const over = (event) => event.target.closest && event.target.closest("#learn-drop");

  document.addEventListener("click", (event) => {
    const button = event.target.closest("#learn-folder, #learn-files, #learn-forget");
    if (!button) return;
    if (button.id !== "learn-forget") return choose(button.id === "learn-folder");
    turn += 1;
    held = null;
    lost = new Set();
    say(STORE, { data: null });
    progress("Forgotten.");
  });

  document.addEventListener("dragover", (event) => {
    const place = over(event);
    document.querySelector("#learn-drop")?.classList.toggle("over", Boolean(place));
    if (place) event.preventDefault();
  });

  document.addEventListener("drop", async (event) => {
    const place = over(event);
    if (!place) return;
    event.preventDefault();
    place.classList.remove("over");
    // The browser empties both lists after the event.
    const plain = [...event.dataTransfer.files];
    const entries = [...event.dataTransfer.items]
      .map((item) => item.webkitGetAsEntry && item.webkitGetAsEntry())
      .filter(Boolean);
    if (!entries.length) return add(plain.map((file) => ({ name: file.name, file })));
    progress("Looking through folders …");
    const found = [];
    for (const entry of entries) found.push(...(await below(entry)));
    if (!found.length) progress("The folder contains no files.");
    add(found);
  });

  const graph = () => document.querySelector("#learn-chart .js-plotly-plot");

  // The picture comes after the sentences; wait for it if somebody is quicker.
  async function drawn() {
    for (let waits = 0; !graph()?.layout && waits < 200; waits += 1) {
      await new Promise((resolve) => window.setTimeout(resolve, 50));
    }
    return graph();
  }

  window.dash_clientside = window.dash_clientside || {};
  window.dash_clientside.learn = {
    forgettable(kept) {
      held = kept || null;
      return kept ? "quiet" : "quiet hidden";
    },

    // Off whenever the picture is redrawn; a finger then scrolls the page.
    async select(clicks) {
      const pressed = cause() === "learn-pick";
      const plot = pressed && (await drawn());
      const on = plot && plot.layout.dragmode !== "select";
      if (plot) {
        window.Plotly.relayout(plot, { dragmode: on ? "select" : false, selections: [] });
      }
      return on
        ? ["Drag over bursts to select them, or press to stop", "true"]
        : ["Select bursts on the picture", "false"];
    },

    // Selected bursts as stretches of time: each run of bursts without a gap is one.
    selected(chosen) {
      const wanted = new Set(((chosen && chosen.points) || []).map((p) => String(p.customdata)));
      if (!wanted.size) return [null, "hidden"];
      const every = graph()
        .data.flatMap((trace) => trace.customdata || [])
        .sort(([a], [b]) => (a < b ? -1 : 1));
      const runs = [];
      let last = null;
      for (const burst of every) {
        if (!wanted.has(String(burst))) last = null;
        else if (last) last[1] = burst[1] > last[1] ? burst[1] : last[1];
        else runs.push((last = [...burst]));
      }
      return [runs, "picked"];
    },

    grouped(clicks, name, runs, text) {
      const called = (name || "").trim();
      if (!clicks || !runs || !called) return keep();
      say("learn-pick-box", { className: "hidden" });
      const lines = runs.map(([from, to]) => `${called}:from=${from},to=${to}`);
      return [(text || "").trim(), ...lines].filter(Boolean).join("\n");
    },
  };
})();

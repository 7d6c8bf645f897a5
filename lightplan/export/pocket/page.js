// ---------------------------------------------------------------- what is shown

let shownPicture = "", shownPhase = "";

function made(name, text, kind) {
  const element = document.createElement(name);
  if (text !== undefined) element.textContent = text;
  if (kind) element.className = kind;
  return element;
}

function sideRow(label, iso, said) {
  const [set, faster] = iso.split(", "); // below base ISO the shutter rises instead
  const cut = set.lastIndexOf(" ");
  const wide = set.length - cut > 6 ? " wide" : "";
  const row = made("li", undefined, `side ${said.kind}${wide}`);
  const number = made("span", undefined, "iso");
  number.append(made("small", `${set.slice(0, cut)} `), made("b", set.slice(cut + 1)));
  const use = made("span", undefined, "use");
  const more = faster ? [`at ${faster}`, ...said.more] : said.more;
  use.append(made("b", said.said), ...more.map((text) => made("small", text)));
  row.append(made("span", label, "lit"), number, use);
  return row;
}

function showFrame(seen, now) {
  const ahead = phoneAhead(now);
  const heads = { none: "No drive", over: "After the trip" };
  byId("drive-name").textContent = heads[seen.kind] || plan.drives[seen.drive].name;
  byId("sentence").textContent = seen.sentence;
  byId("agrees").textContent = ahead ? "" : "Your phone’s clock agrees.";
  byId("differs").textContent = ahead ? `Your phone’s clock is ${duration(Math.abs(ahead))} ` +
    `${ahead > 0 ? "ahead of" : "behind"} the time here; this page shows the time here.` : "";
  byId("reading").hidden = byId("clock").hidden = seen.kind in heads;
  byId("controls").hidden = seen.kind === "none";
}

// What comes first stands above the rows, where no thumb need look for it.
function showNext([soon, ...later]) {
  const told = (name, [clockTime, text, wait]) => {
    const element = made(name);
    element.append(made("b", clockTime), ` ${text} `, made("span", wait, "in"));
    return element;
  };
  byId("soon").replaceChildren(...(soon ? ["Next: ", ...told("p", soon).childNodes] : []));
  byId("after").hidden = !later.length;
  byId("next").replaceChildren(...later.slice(0, 3).map((event) => told("li", event)));
}

function showReading(seen, at) {
  const drive = plan.drives[seen.drive];
  const rig = plan.rigs[state.rig];
  const [time, offset] = at.time.split(" ");
  byId("time").replaceChildren(time, ...(offset ? [made("small", ` ${offset}`)] : []));
  byId("which").textContent = `${seen.which}: ${at.light}`;
  byId("rig-name").replaceChildren(
    made("b", rig.letter), `${rig.name.slice(1)}, up to ${rig.ceiling}`);
  byId("sides").replaceChildren(...plan.sides.map((label, side) =>
    sideRow(label, at.iso[side], at.use[side])));
  byId("slower").textContent = plan.sides.map((label, side) => [label, at.slower[side]])
    .filter(([, rungs]) => rungs.length)
    .map(([label, rungs]) => `${label[0].toUpperCase()}${label.slice(1)}: ${rungs.join(" · ")}.`)
    .join(" ");
  byId("sun").textContent = `S${at.sun.slice(1)}.`;
  byId("way-back").textContent = at.wayBack;
  byId("way-back").className = drive.back !== null && seen.minute >= drive.back ? "due" : "";
  showNext(at.next);
  const picture = `${seen.drive} ${state.rig}`;
  if (picture !== shownPicture) drawPicture(drive, state.rig);
  shownPicture = picture;
  moveHand(drive, seen.minute);
  drawCompass(drive, seen.minute);
}

function showControls(seen, at) {
  byId("now").setAttribute("aria-pressed", String(!state.set));
  byId("drive").value = seen.drive;
  byId("minute").max = plan.drives[seen.drive].last;
  byId("minute").value = seen.minute;
  byId("minute").setAttribute("aria-valuetext", `${at.time}, ${at.light}`);
  byId("rigs").childNodes.forEach((button, i) =>
    button.setAttribute("aria-pressed", String(i === state.rig)));
}

function show(speak) {
  const now = minuteOf(new Date());
  const seen = view(now, state.set);
  showFrame(seen, now);
  if (seen.kind === "none") return;
  const at = reading(seen.drive, seen.minute, state.rig);
  showReading(seen, at);
  showControls(seen, at);
  // Said aloud when somebody chose, or when something turns; not every minute.
  const phase = [seen.kind, seen.drive, at.light, ...at.use.map((u) => u.kind),
    byId("way-back").className].join();
  if (speak || phase !== shownPhase) byId("spoken").textContent = spoken(seen, at);
  shownPhase = phase;
}

function spoken(seen, at) {
  if (seen.kind === "over") return seen.sentence;
  const sides = plan.sides.map((label, side) =>
    `${label} ${at.iso[side]}, ${at.use[side].said}`);
  const before = seen.kind === "set" || !seen.sentence ? "" : `${seen.sentence} `;
  return `${before}${at.time}, ${plan.rigs[state.rig].label}: ${sides.join("; ")}. ${at.wayBack}`;
}

// ------------------------------------------------------------------- controls

function wear() {
  document.documentElement.dataset.theme = state.colours;
  document.documentElement.dataset.paper = state.paper;
  document.documentElement.dataset.rig = plan.rigs[state.rig].letter;
  byId("size-a4").media = state.paper === "a4" ? "all" : "not all";
  for (const kind of ["colours", "paper"])
    document.querySelectorAll(`button[data-${kind}]`).forEach((button) =>
      button.setAttribute("aria-pressed", String(button.dataset[kind] === state[kind])));
}

function choose(changes) {
  Object.assign(state, changes);
  wear();
  keep();
  show(true);
}

function atMinute(minute) {
  const { drive } = view(minuteOf(new Date()), state.set);
  const last = plan.drives[drive].last;
  return { set: { drive, minute: Math.min(Math.max(minute, 0), last) } };
}

// While the slider moves the page follows; it keeps and speaks once it rests.
function slide() {
  Object.assign(state, atMinute(Number(byId("minute").value)));
  show(false);
}

// Readying a fortnight's cards takes a phone seconds: the button says so first.
function printCards() {
  const button = byId("print");
  const [name, busy] = ["Print the cards", "Preparing the cards …"];
  if (button.textContent === busy) return;
  button.textContent = byId("spoken").textContent = busy;
  requestAnimationFrame(() => setTimeout(() => {
    readyCards();
    button.textContent = name;
    byId("spoken").textContent = "";
    window.print();
  }));
}

function build() {
  plan.rigs.forEach((rig, i) => {
    const button = made("button");
    button.type = "button";
    button.dataset.letter = rig.letter;
    button.setAttribute("aria-label", `${rig.letter} ${rig.label}`);
    const focal = made("small", rig.focal.replace(" mm", ""));
    focal.append(made("span", " mm")); // left out on a narrow phone
    button.append(made("b", rig.letter), focal);
    button.addEventListener("click", () => choose({ rig: i }));
    byId("rigs").append(button);
  });
  plan.drives.forEach((drive, i) => byId("drive").append(new Option(drive.name, i)));
  byId("closed").replaceChildren(...plan.closed.map(([name, reason]) =>
    made("li", `${name}: ${reason}.`)));
  byId("drive").addEventListener("change", (event) =>
    choose({ set: { drive: Number(event.target.value), minute: 0 } }));
  byId("minute").addEventListener("input", slide);
  byId("minute").addEventListener("change", () => choose({}));
  byId("now").addEventListener("click", () => choose({ set: null }));
  byId("print").addEventListener("click", printCards);
  addEventListener("beforeprint", readyCards);
  document.querySelectorAll("[data-step]").forEach((button) =>
    button.addEventListener("click", () =>
      choose(atMinute(Number(byId("minute").value) + Number(button.dataset.step)))));
  for (const kind of ["colours", "paper"])
    document.querySelectorAll(`button[data-${kind}]`).forEach((button) =>
      button.addEventListener("click", () => choose({ [kind]: button.dataset[kind] })));
}

function tick() {
  show(false);
  setTimeout(tick, 60050 - (Date.now() % 60000));
}

document.documentElement.classList.remove("still");
// What is kept, if anything, is put back as it was: only so is it known to be kept.
byId("forgets").hidden = hold("localStorage", held("localStorage"));
recall(stored());
recall(location.hash.slice(1));
state.colours ||= matchMedia("(prefers-color-scheme: dark)").matches ? "lamp" : "sun";
build();
wear();
tick();
// A phone stops the clock of a page that nobody looks at.
for (const back of ["pageshow", "focus"]) addEventListener(back, () => show(false));
document.addEventListener("visibilitychange", () => show(false));

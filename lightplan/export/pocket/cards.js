// --------------------------------------------------------------------- cards

// Rows stand ten minutes apart, or further where there would be too many to read:
// the table says how far.
const STEPS = [10, 20, 30, 60], MOST_ROWS = 52, MANY_ROWS = 32;
// The last is the least type that can be read; no part is set smaller, see the style.
const SIZES_PT = [9, 8.6, 8.2, 7.8, 7.5, 7.2, 6.9, 6.6, 6.3, 6, 5.8, 5.6, 5.4, 5.2, 5];
const ALL_SIDES_RIGS = 3; // so many rigs leave room for every side of the sun

function cell(name, ...texts) {
  const element = document.createElement(name);
  element.append(...texts);
  return element;
}

function headed(caption, kind, heads, rows) {
  const table = cell("table", cell("caption", caption),
    cell("thead", ...heads), cell("tbody", ...rows));
  table.className = kind;
  return table;
}

function small(...texts) {
  return cell("small", ...texts);
}

// The earliest and latest start (end), in brackets, where they differ.
function spread(drive, early, late, edge, name) {
  if (early === late) return [];
  const word = name === "end" && drive.back !== null ? "turn-back"
    : drive.gated ? "gate" : name;
  const bound = (minute) => (minute === edge ? word : clockOf(drive, minute));
  const [sure, best] = name === "start" ? [late, early] : [early, late];
  const text = sure === undefined ? `${bound(best)} at best, perhaps not at all`
    : name === "start" ? `${bound(early)}–${clockOf(drive, late)}`
      : `${clockOf(drive, early)}–${bound(late)}`;
  return [document.createElement("br"), small(`${name} (${text})`)];
}

function outcome(drive, rig, side) {
  const cases = drive.usable[rig][side];
  const rungs = plan.rigs.length > ALL_SIDES_RIGS ? [] // no room
    : drive.ladder[rig][side].flatMap((rung) =>
      [document.createElement("br"), small(rungText(drive, rung))]);
  if (!cases[0].length)
    return cell("td", cases[2].length ? "only in more light" : "not usable", ...rungs);
  const [first, sureFirst, bestFirst] = cases.map((edges) => edges[0]);
  const [last, sureLast, bestLast] = cases.map((edges) =>
    edges.length ? edges[edges.length - 1] - 1 : undefined);
  const minutes = cases[0].reduce((sum, edge, i) =>
    sum + (i % 2 ? 1 : -1) * Math.min(edge, drive.until), 0);
  return cell("td",
    cell("b", `${clockOf(drive, first)}–${clockOf(drive, last)}`), small(` ${minutes} min`),
    ...spread(drive, bestFirst, sureFirst, 0, "start"),
    ...spread(drive, sureLast, bestLast, drive.until, "end"), ...rungs);
}

function rigTable(drive) {
  const rows = plan.rigs.map((rig, i) => {
    const kit = small(`up to ${rig.ceiling}, `, cell("bdi", rig.kit));
    const name = cell("th", cell("b", rig.letter),
      rig.name.slice(1).replace(/ (?=mm|s$)/g, "\u00a0"), // units stay with their number
     
      document.createElement("br"), kit);
    name.scope = "row";
    return cell("tr", name, ...plan.sides.map((_, side) => outcome(drive, i, side)));
  });
  const heads = ["rig", ...plan.sides].map((text) => {
    const head = cell("th", text[0].toUpperCase() + text.slice(1));
    head.scope = "col";
    return head;
  });
  return headed("Usable from – to, with the earliest–latest start and end in brackets",
    "rigs", [cell("tr", ...heads)], rows);
}

function listed(drive) {
  const ofDay = (minute) => drive.opens + minute + offsetAt(drive.opens + minute)[1];
  const rows = (step) => [...drive.altitude.keys()].filter((minute) =>
    minute === 0 || minute === drive.last || ofDay(minute) % step === 0);
  const step = STEPS.find((each) => rows(each).length <= MOST_ROWS) ?? STEPS[STEPS.length - 1];
  return { step, rows: rows(step) };
}

function minuteRow(drive, minute, sides) {
  const time = cell("th", clockOf(drive, minute));
  time.scope = "row";
  const sun = sunAt(drive, minute).replace("sun at ", "");
  const numbers = plan.rigs.flatMap((_, rig) => sides.map((side) => {
    const text = plan.isos[isoOf(drive, rig, side)[minute]].split(", ")[0];
    if (text.startsWith("over")) return cell("td", "–");
    const number = text.replace("ISO ", "");
    const within = runAt(drive.within[rig][side], minute);
    return cell("td", within ? number : cell("s", number));
  }));
  const light = cell("td", lightAt(drive, minute)[0]);
  light.className = "light-name";
  return cell("tr", time, light, cell("td", sun), ...numbers);
}

function minuteTable(drive, { step, rows }) {
  const all = plan.rigs.length <= ALL_SIDES_RIGS;
  const sides = all ? [0, 1, 2] : [plan.side];
  const head = (text, span, scope) => Object.assign(cell("th", text),
    { colSpan: span, rowSpan: all && scope === "col" && span === 1 ? 2 : 1, scope });
  const top = [...["Time", "Light", "Sun seen at"].map((text) => head(text, 1, "col")),
    ...plan.rigs.map((rig) => head(`${rig.letter} ${rig.label}`, sides.length,
      all ? "colgroup" : "col"))];
  const below = plan.rigs.flatMap(() => SIDES.map((text) =>
    Object.assign(cell("th", text), { scope: "col" })));
  const lit = all ? "lit from the front, the side and behind" : plan.sides[plan.side];
  top[1].className = "light-name";
  const beyond = plan.isos[plan.beyond];
  const faster = plan.rigs.some((_, rig) => sides.some((side) =>
    rows.some((minute) => isoOf(drive, rig, side)[minute] > plan.beyond)))
    ? "; at base ISO set a faster shutter" : "";
  return headed(
    `Needed ISO every ${step} minutes, ${lit}; struck through over the rig’s limit; – is ${beyond}${faster}`,
    all ? "minutes sides" : "minutes",
    [cell("tr", ...top), ...(all ? [cell("tr", ...below)] : [])],
    rows.map((minute) => minuteRow(drive, minute, sides)));
}

function fillCards() {
  document.querySelectorAll(".card:not(.filled)").forEach((card) => {
    card.classList.add("filled");
    const drive = plan.drives[card.dataset.drive];
    if (!drive) return; // a day without any
    const minutes = listed(drive);
    if (minutes.rows.length > MANY_ROWS) card.classList.add("dense");
    card.querySelector(".answer").after(rigTable(drive), minuteTable(drive, minutes));
  });
}

function fits(card, step) {
  card.style.setProperty("--size", `${SIZES_PT[step]}pt`);
  return card.scrollHeight <= card.clientHeight && card.scrollWidth <= card.clientWidth;
}

// Sets each card in the largest type in which it stays on its page. Cards of as
// many rows are much alike, so each begins with the size of the last such one.
function fitCards() {
  const smallest = SIZES_PT.length - 1;
  const found = new Map();
  document.documentElement.classList.add("measured");
  for (const card of document.querySelectorAll(".card")) {
    const rows = card.querySelectorAll("tr").length;
    let step = found.get(rows) ?? 0;
    if (fits(card, step)) {
      while (step > 0 && fits(card, step - 1)) step--;
    } else {
      do step++;
      while (step < smallest && !fits(card, step));
    }
    card.style.setProperty("--size", `${SIZES_PT[step]}pt`);
    found.set(rows, step);
  }
  document.documentElement.classList.remove("measured");
}

function readyCards() {
  fillCards();
  fitCards();
}

"use strict";
// Shows the plan that stands in #plan at the minute of the phone's clock, or at
// any other. It computes no light: it looks up, counts minutes, and writes text.

const byId = (id) => document.getElementById(id);
const plan = JSON.parse(byId("plan").textContent);

// ---------------------------------------------------------------- the plan

function unpack(packed) {
  return packed.split(" ").flatMap((run) => {
    const [value, length] = run.split(".").map((digits) => parseInt(digits, 36));
    return new Array(length).fill(value);
  });
}

for (const drive of plan.drives) {
  let sum = 0;
  drive.altitude = drive.altitude.map((step) => (sum += step));
  drive.bearing = unpack(drive.bearing);
  drive.last = drive.altitude.length - 1;
  drive.closes = drive.opens + drive.last;
  drive.until = drive.back ?? drive.last; // usable minutes end at turn-back
}
// A drive's curves are unpacked when it is first looked at.
function isoOf(drive, rig, side) {
  const sides = drive.iso[rig];
  if (typeof sides[side] === "string") sides[side] = unpack(sides[side]);
  return sides[side];
}

// ---------------------------------------------------------------- the clock

const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct",
  "Nov", "Dec"];
const two = (number) => String(number).padStart(2, "0");
const minuteOf = (date) => Math.floor(date.getTime() / 60000);

function offsetAt(utc) {
  return plan.offsets.reduce((found, next) => (next[0] <= utc ? next : found));
}

const wall = (utc) => new Date((utc + offsetAt(utc)[1]) * 60000);

function clock(utc) {
  return `${two(wall(utc).getUTCHours())}:${two(wall(utc).getUTCMinutes())}`;
}

function day(utc) {
  const at = wall(utc);
  return `${WEEKDAYS[at.getUTCDay()]} ${at.getUTCDate()} ${MONTHS[at.getUTCMonth()]}`;
}

const dayOfYear = (utc) => `${day(utc)} ${wall(utc).getUTCFullYear()}`;

// On a drive on which the clocks change, two minutes may share a reading.
function clockOf(drive, minute) {
  const changes = offsetAt(drive.opens)[1] !== offsetAt(drive.closes)[1];
  const utc = drive.opens + minute;
  return clock(utc) + (changes ? ` ${offsetAt(utc)[2]}` : "");
}

function duration(minutes) {
  const hours = Math.floor(minutes / 60);
  return hours ? `${hours} h ${two(minutes % 60)}` : `${minutes} min`;
}

// Days are counted as on a calendar, by the place's dates.
function wait(now, utc) {
  const date = (at) => Math.floor((at + offsetAt(at)[1]) / 1440);
  return utc - now < 2 * 1440 ? duration(utc - now) : `${date(utc) - date(now)} days`;
}

// ------------------------------------------------------- a minute of a drive

// Usable minutes are kept as [start, end, start, end, …], the end not included.
function runAt(edges, minute) {
  for (let i = 0; i < edges.length; i += 2)
    if (edges[i] <= minute && minute < edges[i + 1]) return [edges[i], edges[i + 1]];
  return null;
}

function left(edges, minute, last) {
  const run = runAt(edges, minute);
  return run ? Math.min(run[1], last) - minute : 0;
}

const startAfter = (edges, minute) =>
  edges.find((edge, i) => i % 2 === 0 && edge > minute);

const range = (low, high) => (low === high ? "" : `${low}–${high} min`);
const those = (...texts) => texts.filter(Boolean);

const endOf = (drive) =>
  drive.back !== null ? "turn-back" : drive.gated ? "the gate" : "the end";

// A slower shutter time and when it holds: "1/500 to 17:41 (6 in 10 sharp)".
function rungText(drive, [shutter, share, first, last]) {
  const from = first > 0, to = last < drive.until;
  const when = from && to ? `${clockOf(drive, first)}–${clockOf(drive, last)}`
    : from ? `from ${clockOf(drive, first)}`
      : to ? `to ${clockOf(drive, last)}` : `to ${endOf(drive)}`;
  return `${shutter} ${when}${share ? ` (${share})` : ""}`;
}

// Those that are not over at a minute.
const slower = (drive, minute, rig, side) =>
  drive.ladder[rig][side].filter((rung) => rung[3] > minute)
    .map((rung) => rungText(drive, rung));

// What a rig can do from one side: in a word, and what is to be said of it.
function use(drive, minute, rig, side) {
  const [expected, dark, bright] = drive.usable[rig][side];
  const [now, least, most] = [expected, dark, bright].map((edges) =>
    left(edges, minute, drive.until));
  if (minute > drive.until) return { kind: "finished", said: "past turn-back", more: [] };
  const run = runAt(expected, minute);
  if (run) {
    const end = run[1] > drive.until ? endOf(drive) : clockOf(drive, run[1] - 1);
    return { kind: "usable", said: `${duration(now)} left`,
      more: those(`to ${end}`, range(least, most)) };
  }
  const start = startAfter(expected, minute);
  if (start !== undefined) {
    const early = runAt(bright, minute) ? 0 : startAfter(bright, minute) - minute;
    const late = startAfter(dark, minute);
    const spread = late === undefined ? "perhaps not at all" : range(early, late - minute);
    return { kind: "waiting", said: `from ${clockOf(drive, start)}`,
      more: those(`in ${duration(start - minute)}`, spread) };
  }
  const hope = most ? `at best ${most} min more` : "";
  const late = startAfter(bright, minute);
  const later = late === undefined ? "" : `at best from ${clockOf(drive, late)}`;
  if (!expected.length)
    return { kind: "slow", said: "too slow", more: [hope || later || "all this drive"] };
  const since = clockOf(drive, expected[expected.length - 1] - 1);
  const said = slower(drive, minute, rig, side).length ? "too slow now" : "out of light";
  return { kind: "finished", said, more: those(`at ${since}`, hope || later) };
}

function lightAt(drive, minute) {
  const [, window] = drive.windows.reduce((found, next) =>
    next[0] <= minute ? next : found);
  return plan.windows[window];
}

function sunAt(drive, minute) {
  const tenths = drive.altitude[minute];
  const altitude = (Math.abs(tenths) / 10).toFixed(1);
  return `sun at ${tenths < 0 ? "−" : ""}${altitude}°, ` +
    plan.bearings[drive.bearing[minute]];
}

function wayBack(drive, minute) {
  const shut = `${clockOf(drive, drive.last)}, in ${duration(drive.last - minute)}`;
  if (!drive.gated) return `No gates: the drive ends at ${shut}.`;
  if (drive.back === null)
    return `The way back takes ${drive.travel} min, longer than the gates are open.`;
  const by = clockOf(drive, drive.back);
  if (minute < drive.back)
    return `Turn back by ${by}, in ${duration(drive.back - minute)}.`;
  if (minute === drive.back) return `Turn back now: the gate shuts at ${shut}.`;
  return `The time to turn back was ${by}: the gate shuts at ${shut}.`;
}

function whatComes(drive, minute) {
  const windows = drive.windows.map(([at, window]) => [at, plan.windows[window][1]]);
  const back = drive.back === null ? [] : [[drive.back, "turn back"]];
  const end = [drive.last, drive.gated ? "the gate shuts" : "the drive ends"];
  return [...windows, ...drive.sun, ...back, end]
    .filter(([at]) => at > minute)
    .sort((a, b) => a[0] - b[0])
    .map(([at, text]) => [clockOf(drive, at), text, `in ${duration(at - minute)}`]);
}

// All that is shown of one minute.
function reading(index, minute, rig) {
  const drive = plan.drives[index];
  return {
    time: clockOf(drive, minute),
    light: lightAt(drive, minute)[1],
    sun: sunAt(drive, minute),
    iso: plan.sides.map((_, side) => plan.isos[isoOf(drive, rig, side)[minute]]),
    left: drive.usable[rig].map((cases) =>
      cases.map((edges) => left(edges, minute, drive.until))),
    use: plan.sides.map((_, side) => use(drive, minute, rig, side)),
    slower: plan.sides.map((_, side) => slower(drive, minute, rig, side)),
    wayBack: wayBack(drive, minute),
    next: whatComes(drive, minute),
  };
}

// ---------------------------------------------- which minute, and what to say

const opening = (drive) => (drive.gated ? "the gates open" : "the drive begins");
const ending = (drive) => (drive.gated ? "the gate shut" : "the drive ended");

function view(now, set) {
  const drives = plan.drives;
  const here = `It is ${clock(now)}, ${day(now)}.`;
  if (!drives.length) {
    const reasons = [...new Set(plan.closed.map(([, reason]) => reason))].join("; ");
    return { kind: "none", sentence: `This plan has no drive: ${reasons}.` };
  }
  if (set) {
    const sentence = `You chose this minute. ${here}`;
    return { kind: "set", which: "chosen", sentence, ...set };
  }
  const index = drives.findIndex((drive) => now < drive.closes);
  if (index < 0) {
    const drive = drives[drives.length - 1];
    // A file may be found again years later.
    const shut = `${clock(drive.closes)} on ${dayOfYear(drive.closes)}`;
    const sentence = `This plan is over: ${ending(drive)} at ${shut}. ` +
      `It is ${clock(now)}, ${dayOfYear(now)}.`;
    return { kind: "over", drive: drives.length - 1, minute: drive.last, sentence };
  }
  const drive = drives[index];
  if (now >= drive.opens)
    return { kind: "now", which: "now", drive: index, minute: now - drive.opens, sentence: "" };
  const when = `${opening(drive)} at ${clock(drive.opens)}, in ${wait(now, drive.opens)}`;
  return {
    kind: index ? "between" : "before",
    which: drive.gated ? "gates open" : "drive begins",
    drive: index,
    minute: 0,
    sentence: `${here} ${index ? "Next drive" : "First drive"}, ${drive.name}: ${when}.`,
  };
}

// How many minutes the phone's clock is ahead of the place's.
function phoneAhead(now) {
  return -new Date(now * 60000).getTimezoneOffset() - offsetAt(now)[1];
}

// ------------------------------------------------------- choices, and keeping

const state = { rig: 0, colours: "", paper: "a5", set: null };
const STORE = `lightplan pocket ${plan.id}`;

// A frame loses its address when the page around it is loaded again, so there the
// tab remembers the chosen minute.
const framed = window.parent !== window;

// A phone may forbid a file to keep anything, or have no room left.
function held(storage) {
  try {
    return window[storage].getItem(STORE) || "";
  } catch {
    return "";
  }
}

function hold(storage, choices) {
  try {
    window[storage].setItem(STORE, new URLSearchParams(choices));
    return true;
  } catch {
    return false; // the address keeps them too
  }
}

const stored = () => `${held("localStorage")}&${framed ? held("sessionStorage") : ""}`;

function keep() {
  const choices = { rig: state.rig, colours: state.colours, paper: state.paper };
  // A chosen minute outlives a reload, not the day: it is in the address or the tab.
  const minute = state.set ? { drive: state.set.drive, minute: state.set.minute } : {};
  hold("localStorage", choices);
  if (framed) hold("sessionStorage", minute);
  const hash = `#${new URLSearchParams({ ...choices, ...minute })}`;
  try {
    history.replaceState(null, "", hash);
  } catch {
    location.hash = hash;
  }
}

function recall(text) {
  const said = new URLSearchParams(text);
  const whole = (name, below) => {
    const number = Number(said.get(name) || NaN);
    return Number.isInteger(number) && number >= 0 && number < below ? number : null;
  };
  const rig = whole("rig", plan.rigs.length);
  if (rig !== null) state.rig = rig;
  if (["lamp", "sun"].includes(said.get("colours"))) state.colours = said.get("colours");
  if (["a5", "a4"].includes(said.get("paper"))) state.paper = said.get("paper");
  const drive = whole("drive", plan.drives.length);
  const minute = drive === null ? null : whole("minute", plan.drives[drive].last + 1);
  if (minute !== null) state.set = { drive, minute };
}

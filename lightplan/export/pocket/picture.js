// ------------------------------------------------------------------ pictures

// Of #picture, in its own units; the curves are named in a margin at one side.
const WIDTH = 360, MARGIN = 36, TOP = 14, FLOOR = 112, STRIP = 16, HEIGHT = 162;
const SIDES = ["front", "side", "back"];
const LETTER = 6; // how wide a letter of a name is

function drawn(name, attributes, text) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text !== undefined) element.textContent = text;
  return element;
}

function bands(drive, y, height) {
  const ends = [...drive.windows.slice(1).map(([at]) => at), drive.last];
  return drive.windows.map(([at, window], i) => drawn("rect", {
    class: `light ${plan.windows[window][0]}`, y, height,
    x: (at / drive.last) * WIDTH, width: ((ends[i] - at) / drive.last) * WIDTH,
  }));
}

// A run of equal ISO is a step; the scale is that of the camera's dial.
function steps(iso, across, down) {
  let path = `M0,${down(iso[0])}`;
  iso.forEach((value, minute) => {
    if (minute && value !== iso[minute - 1]) path += `H${across(minute)}V${down(value)}`;
  });
  return `${path}H${WIDTH}`;
}

function apart(labels) {
  labels.sort((a, b) => a.y - b.y || b.side - a.side); // most ISO on top
  labels.forEach((label, i) => {
    if (i) label.y = Math.max(label.y, labels[i - 1].y + 12);
  });
  const over = labels[labels.length - 1].y - (FLOOR - 3);
  labels.forEach((label, i) => {
    if (over > 0) label.y = Math.min(label.y, FLOOR - 3 - 12 * (labels.length - 1 - i));
  });
  return labels;
}

// Windows of light too narrow for their name go without; the caption has them all.
function lightNames(drive, across) {
  const ends = [...drive.windows.slice(1).map(([at]) => at), drive.last];
  return drive.windows.flatMap(([at, window], i) => {
    const name = plan.windows[window][1].replace(/^civil | light$/g, "");
    if (across(ends[i] - at) < name.length * LETTER) return [];
    return drawn("text", { class: "tick", x: across((at + ends[i]) / 2),
      y: FLOOR + STRIP + 12 }, name);
  });
}

function hours(drive, across) {
  const whole = [];
  for (let minute = 0; minute <= drive.last; minute++)
    if ((drive.opens + minute + offsetAt(drive.opens + minute)[1]) % 60 === 0)
      whole.push(minute);
  const every = Math.ceil(whole.length / 7);
  return whole.filter((_, i) => i % every === 0).map((minute) => drawn("text", {
    class: "tick", y: FLOOR + STRIP + 27,
    x: Math.min(Math.max(across(minute), 15), WIDTH - 15),
  }, clock(drive.opens + minute)));
}

function drawPicture(drive, rig) {
  // In more light than base ISO can take, the shutter gets faster: the curve is flat.
  const curves = plan.sides.map((_, side) => isoOf(drive, rig, side).map((index) =>
    (index > plan.beyond ? plan.rigs[rig].baseStep : index)));
  const ceiling = plan.rigs[rig].ceilingStep;
  const low = Math.min(ceiling, ...curves.flat()) - 1;
  const high = Math.max(ceiling, Math.min(ceiling + 6, Math.max(...curves.flat()))) + 2;
  const across = (minute) => ((minute / drive.last) * WIDTH).toFixed(1);
  const down = (step) => (FLOOR - (Math.min(step, high) - low) /
    (high - low) * (FLOOR - TOP)).toFixed(1);
  // Named where there is more light, and the curves stand further apart.
  const right = curves[1][0] > curves[1][drive.last];
  const edge = right ? { x: WIDTH + 5 } : { x: -5, "text-anchor": "end" };
  const names = apart(curves.map((curve, side) => ({
    side, y: Number(down(right ? curve[drive.last] : curve[0])) + 4,
  })));
  byId("picture").setAttribute("viewBox",
    `${right ? 0 : -MARGIN} 0 ${WIDTH + MARGIN} ${HEIGHT}`);
  byId("picture").replaceChildren(
    ...bands(drive, FLOOR, STRIP),
    drawn("line", { class: "ceiling", x1: 0, x2: WIDTH, y1: down(ceiling), y2: down(ceiling) }),
    drawn("text", { x: right ? WIDTH : 0, y: down(ceiling) - 4,
      "text-anchor": right ? "end" : "start" }, plan.rigs[rig].ceiling),
    ...curves.map((curve, side) =>
      drawn("path", { class: `curve side-${side}`, d: steps(curve, across, down) })),
    ...names.map(({ side, y }) =>
      drawn("text", { class: "curve-name", y, ...edge }, SIDES[side])),
    ...lightNames(drive, across),
    ...hours(drive, across),
    drawn("line", { id: "hand", class: "hand", y1: TOP, y2: FLOOR + STRIP }),
  );
  byId("strip").replaceChildren(...bands(drive, 0, 28));
  byId("caption").textContent = `ISO that ${plan.rigs[rig].label} needs, lit from the ` +
    `front, side and back; light ${drive.spread}. Below, ` +
    drive.windows.map(([, window]) => plan.windows[window][1]).join(", ") +
    (drive.moon ? `; ${drive.moon}.` : ".");
}

function moveHand(drive, minute) {
  const x = (minute / drive.last) * WIDTH;
  byId("hand").setAttribute("x1", x);
  byId("hand").setAttribute("x2", x);
}

// North is up; below the horizon the sun is a ring, above it a disc.
function drawCompass(drive, minute) {
  const bearing = parseFloat(plan.bearings[drive.bearing[minute]]) * Math.PI / 180;
  const [x, y] = [Math.sin(bearing) * 40, -Math.cos(bearing) * 40];
  const letters = [["N", 0, -47], ["E", 51, 4], ["S", 0, 56], ["W", -51, 4]];
  byId("compass").replaceChildren(
    drawn("circle", { class: "rose", r: 40 }),
    drawn("line", { class: "ray", x2: x, y2: y }),
    drawn("circle", { class: drive.altitude[minute] < 0 ? "sun down" : "sun", r: 8, cx: x, cy: y }),
    ...letters.map(([letter, at, level]) =>
      drawn("text", { class: "tick", x: at, y: level }, letter)),
  );
}

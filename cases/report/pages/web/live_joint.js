// The joint's loads from the exact reduced model of the front end: what the joints see of it, a few hundred numbers.
//
// With rigid joints they carry w0 under each state; gaps x there change that to w0 - M x; a spring k has w = k x, so that
// (M + k) x = w0, for every k from 0 to Infinity on its diagonal. The numbers are those of femcore/solvers/end_spring_designs.py, and the
// way from states to cases is that of models/response/joint_designs.py; a test holds both against full solutions.

const DIRECTIONS = { roll: 3, pitch: 4 };

// x of the symmetric positive definite A x = B, by elimination without pivoting; both are overwritten.
// An infinite diagonal gives 0.
function eliminated(A, B) {
  const size = A.length, columns = B[0].length;
  for (let at = 0; at < size; at += 1) {
    for (let below = at + 1; below < size; below += 1) {
      const factor = A[below][at] / A[at][at];
      for (let column = at + 1; column < size; column += 1) A[below][column] -= factor * A[at][column];
      for (let column = 0; column < columns; column += 1) B[below][column] -= factor * B[at][column];
    }
  }
  for (let at = size - 1; at >= 0; at -= 1) {
    for (let column = 0; column < columns; column += 1) {
      let left = B[at][column];
      for (let other = at + 1; other < size; other += 1) left -= A[at][other] * B[other][column];
      B[at][column] = left / A[at][at];
    }
  }
  return B;
}

const product = (A, B) => A.map((row) => B[0].map((_, column) => row.reduce((sum, one, k) => sum + one * B[k][column], 0)));
const added = (A, B) => A.map((row, i) => row.map((one, j) => one + B[i][j]));

// (12, 12): the port joint's stiffness (6, 6), and its mirror image to starboard.
const bothSides = (K, mirror) => Array.from({ length: 12 }, (_, i) => Array.from({ length: 12 }, (_w, j) => {
  if (i < 6 !== j < 6) return 0;
  return i < 6 ? K[i][j] : mirror[i - 6] * mirror[j - 6] * K[i - 6][j - 6];
}));

// What each state does, by forces (12), tensions, readings and movements, states in columns.
function statesOf(model, stiffness) {
  const size = model.M[0].length, forces = [], gaps = [], K = size === 6 ? stiffness : bothSides(stiffness, model.mirror);
  model.M.forEach((M, block) => {
    const w0 = model.forces.slice(block * size, (block + 1) * size);
    const x = eliminated(added(M, K), w0.map((row) => [...row]));
    const Mx = product(M, x), Kx = product(K.map((row) => row.map((one) => (Number.isFinite(one) ? one : 0))), x);
    // a difference of nothing where a spring is soft, a product of nothing where it is rigid
    forces.push(...w0.map((row, i) => row.map((one, c) => (K[i][i] < M[i][i] ? Kx[i][c] : one - Mx[i][c]))));
    gaps.push(...x);
  });
  const turned = model.turn.map((_, i) => forces[0].map((_w, c) => forces.reduce((sum, row, j) => sum + model.turn[j][i] * row[c], 0)));
  const of = (rigid, byGap) => (rigid.length ? added(rigid, product(byGap, gaps)) : []);
  return {
    forces: turned,
    tension: of(model.tension, model.tensionByGap),
    readings: of(model.readings, model.readingsByGap),
    movements: of(model.movements, model.movementsByGap),
  };
}

/** The port joint's stiffness (6, 6), N/m, N and N·m/rad in boat axes (surge sway heave, roll pitch yaw): a joint of the model
 * whose own stiffness in pitch (twist) and roll (vertical bending) is as given, 0 free, Infinity rigid. */
export function stiffnessOf(joint, pitch, roll) {
  const K = joint.base.map((row) => row.map((one) => (one === null ? Infinity : one)));
  K[4][4] += pitch;
  K[3][3] += roll;
  return K;
}

/** The cases of a model with joints of that stiffness (6, 6).
 *
 * loads: [case][side][6], N and N·m on the hulls, port then starboard; shares: [case][3], hull, torque, shear, or null;
 * rackingStiffness: N/m; slack: [case], whether a cable goes slack, where the model does not hold.
 */
export function solveJoint(model, stiffness) {
  const states = statesOf(model, stiffness), cases = model.targets.length, cables = model.pretension.length;
  const count = states.forces[0].length, first = cases + 1, last = count - cables;
  let kept = [];
  if (cables) {
    const matrix = states.tension.map((row) => row.slice(count - cables).map((one) => -one));
    const hasOwn = states.tension[0].length === first + cables;
    const lacking = states.tension.map((row, i) => [hasOwn ? 0 : row[first] - model.pretension[i]]);
    kept = eliminated(matrix, lacking).map((row) => row[0]);
  }
  const rest = (row) => row.slice(first, last).reduce((sum, one) => sum + one, 0)
    + kept.reduce((sum, gap, i) => sum + gap * row[count - cables + i], 0);
  const scale = model.targets.map((target, at) => {
    if (target === null) return 1;
    return target === 0 ? 0 : (target - rest(states.movements[at])) / states.movements[at][at];
  });
  const acting = (row) => model.targets.map((_, at) => row[at] * scale[at] + rest(row));
  const forces = states.forces.map(acting), tension = states.tension.map(acting), racking = states.readings.slice(0, 8).map(acting);
  const all = model.targets.map((_, at) => at);
  const largest = Math.max(0, ...tension.flat().map(Math.abs));
  return {
    loads: all.map((at) => [0, 6].map((side) => forces.slice(side, side + 6).map((row) => row[at]))),
    shares: all.map((at) => {
      const least = model.leastRacking * racking.slice(4).reduce((sum, row) => sum + Math.abs(row[at]), 0);
      return Math.abs(racking[0][at]) <= least ? null : [1, 2, 3].map((part) => racking[part][at] / racking[0][at]);
    }),
    tension: all.map((at) => tension.map((row) => row[at])),
    slack: all.map((at) => tension.some((row) => row[at] < 1e-9 * largest)),
    rackingStiffness: 1 / states.movements[states.movements.length - 1][cases],
  };
}

const STEPS = 200, LOWEST = 3, HIGHEST = 9;  // of the sliders: from 10^3 to 10^9 N·m/rad, free below and rigid above
const stiffnessAt = (step) => (step <= 0 ? 0 : step >= STEPS ? Infinity : 10 ** (LOWEST + ((HIGHEST - LOWEST) * step) / STEPS));
const stepOf = (k) => (k <= 0 ? 0 : !Number.isFinite(k) ? STEPS
  : Math.min(STEPS - 1, Math.max(1, Math.round(((Math.log10(k) - LOWEST) / (HIGHEST - LOWEST)) * STEPS))));

/** Three significant digits, as in the tables. */
export function three(value) {
  if (!Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const digits = Math.max(0, 2 - Math.floor(Math.log10(Math.abs(value))));
  return value.toFixed(Math.min(digits, 6)).replace("-", "−");
}
const stiffnessWords = (k) => (k === 0 ? "free" : Number.isFinite(k) ? `${three(k / 1e3)} kN·m/rad` : "rigid");

const SHARES = [
  { words: "hull’s root", colour: "--series-1" }, { words: "joint’s torque", colour: "--series-3" }, { words: "joint’s vertical force", colour: "--series-2" },
]; // as the picture of shares has them
const SVG = "http://www.w3.org/2000/svg";
export function svg(tag, attributes, text) {
  const element = document.createElementNS(SVG, tag);
  Object.entries(attributes).forEach(([name, value]) => element.setAttribute(name, value));
  if (text !== undefined) element.textContent = text;
  return element;
}
export function html(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  Object.entries(attributes).forEach(([name, value]) => element.setAttribute(name, value));
  element.append(...children);
  return element;
}

// The moment on the worse hull against one stiffness, drawn as a curve with a mark.
function curve(element, title, points, mark, colour) {
  const width = 420, height = 190, left = 46, right = 14, top = 12, bottom = 38;
  const most = Math.max(1e-9, ...points.map((one) => Math.abs(one[1])), Math.abs(mark[1]));
  const x = (step) => left + ((width - left - right) * step) / STEPS, y = (value) => height - bottom - ((height - top - bottom) * Math.abs(value)) / (1.08 * most);
  element.setAttribute("viewBox", `0 0 ${width} ${height}`);
  element.setAttribute("aria-label", `${title}: ${three(Math.abs(mark[1]) / 1e3)} kN·m at ${stiffnessWords(stiffnessAt(mark[0]))}`);
  element.replaceChildren();
  [0, 0.5, 1].forEach((part) => {
    const at = y(part * most);
    element.append(svg("line", { x1: left, x2: width - right, y1: at, y2: at, class: "grid" }));
    element.append(svg("text", { x: left - 6, y: at + 4, "text-anchor": "end" }, three((part * most) / 1e3)));
  });
  for (const [step, label, anchor] of [[0, "free", "start"], [STEPS / 3, "10⁵", "middle"], [(2 * STEPS) / 3, "10⁷", "middle"], [STEPS, "rigid", "end"]]) {
    element.append(svg("text", { x: x(step), y: height - bottom + 15, "text-anchor": anchor }, label));
  }
  element.append(svg("text", { x: width - right, y: height - 4, "text-anchor": "end" }, "stiffness, N·m/rad"));
  element.append(svg("text", { x: left, y: height - 4 }, "kN·m"));
  element.append(svg("path", { d: points.map((one, i) => `${i ? "L" : "M"}${x(one[0]).toFixed(1)} ${y(one[1]).toFixed(1)}`).join(""), fill: "none", stroke: `var(${colour})`, "stroke-width": 2 }));
  element.append(svg("circle", { cx: x(mark[0]), cy: y(mark[1]), r: 6, fill: `var(${colour})`, stroke: "var(--paper)", "stroke-width": 2 }));
}

const worse = (loads, component) => (Math.abs(loads[1][component]) > Math.abs(loads[0][component]) ? loads[1][component] : loads[0][component]);

/** Two sliders, the twist and bending stiffness of the joints; loads, shares and marks follow at once. */
export function mountLiveJoint(element, model, changed = () => {}) {
  const start = html("select"), caseChoice = html("select");
  model.joints.forEach((joint, at) => start.append(html("option", { value: at }, joint.name)));
  model.cases.forEach((name, at) => caseChoice.append(html("option", { value: at }, name)));
  caseChoice.value = model.mainCase;
  const sliders = {}, words = {}, row = html("div", { class: "controls" });
  row.append(html("label", {}, "Begin with ", start), html("label", {}, "Case ", caseChoice));
  for (const [direction, title] of [["pitch", "Twist stiffness of the joint"], ["roll", "Vertical bending stiffness of the joint"]]) {
    sliders[direction] = html("input", { type: "range", min: 0, max: STEPS, step: 1, "data-direction": direction });
    words[direction] = html("output");
    row.append(html("label", { class: "slider" }, `${title} `, words[direction], sliders[direction]));
  }
  const table = html("tbody"), bars = html("div", { class: "bars", role: "img" }), note = html("p", { class: "aside", role: "status" });
  const charts = { pitch: svg("svg", { role: "img" }), roll: svg("svg", { role: "img" }) };
  element.replaceChildren(row, html("div", { class: "live" },
    html("table", {}, html("thead", {}, html("tr", {}, ...["", "port hull", "starboard hull"].map((one) => html("th", { scope: "col" }, one)))), table),
    html("div", {}, html("p", { class: "bar-title" }, "Where the racking moment goes"), bars),
    html("figure", {}, charts.pitch, html("figcaption", {}, "Torque on the worse hull against the twist stiffness")),
    html("figure", {}, charts.roll, html("figcaption", {}, "Vertical bending on the worse hull against the bending stiffness")),
  ), note);
  let own = {};
  const joint = () => model.joints[Number(start.value)];
  const solved = (given) => solveJoint(model, stiffnessOf(joint(), given.pitch, given.roll));
  const begin = () => {
    own = Object.fromEntries(Object.entries(joint().own).map(([direction, k]) => [direction, k === null ? Infinity : k]));
    for (const direction of Object.keys(DIRECTIONS)) sliders[direction].value = stepOf(own[direction]);
    show();
  };
  const show = () => {
    const at = Number(caseChoice.value), found = solved(own), loads = found.loads[at];
    for (const [direction, number] of Object.entries(DIRECTIONS)) {
      words[direction].textContent = stiffnessWords(own[direction]);
      sliders[direction].setAttribute("aria-valuetext", stiffnessWords(own[direction]));
      const points = [];
      for (let step = 0; step <= STEPS; step += 4) {
        points.push([step, worse(solved({ ...own, [direction]: stiffnessAt(step) }).loads[at], number)]);
      }
      curve(charts[direction], direction === "pitch" ? "Torque" : "Vertical bending", points, [stepOf(own[direction]), worse(loads, number)], direction === "pitch" ? "--series-1" : "--series-2");
    }
    const lines = [["torque", 4, "kN·m"], ["vertical bending", 3, "kN·m"], ["vertical force", 2, "kN"], ["fore-and-aft force", 0, "kN"]];
    table.replaceChildren(...lines.map(([title, component, unit]) => html("tr", {},
      html("th", { scope: "row" }, `${title}, ${unit}`), ...loads.map((side) => html("td", { class: "n", "data-value": side[component] }, three(side[component] / 1e3))))));
    table.append(html("tr", {}, html("th", { scope: "row" }, "racking stiffness, kN/m"), html("td", { class: "n", colspan: 2, "data-value": found.rackingStiffness }, three(found.rackingStiffness / 1e3))));
    const shares = found.shares[at];
    bars.replaceChildren(...(shares || []).map((share, part) => {
      const bar = html("div", { class: "bar" }, html("span", {}, `${SHARES[part].words} ${(100 * share).toFixed(1).replace("-", "−")} %`), html("i"));
      bar.lastChild.style.width = `${Math.min(100, Math.abs(100 * share))}%`;
      bar.lastChild.style.background = `var(${SHARES[part].colour})`;
      return bar;
    }));
    bars.setAttribute("aria-label", shares ? shares.map((share, part) => `${SHARES[part].words} ${(100 * share).toFixed(1)} %`).join(", ") : "nothing racks the bows in this case");
    if (!shares) bars.append("Nothing racks the bows in this case.");
    const remarks = [];
    if (model.secondOrder.includes(at)) remarks.push("In first order; the tables have this case in its deformed shape.");
    if (found.slack[at]) remarks.push("A cable goes slack here: these numbers count it as taut.");
    note.textContent = remarks.join(" ");
    changed({ own, found, at });
  };
  for (const direction of Object.keys(DIRECTIONS)) {
    sliders[direction].addEventListener("input", () => {
      own[direction] = stiffnessAt(Number(sliders[direction].value));
      show();
    });
  }
  start.addEventListener("change", begin);
  caseChoice.addEventListener("change", show);
  begin();
  return { show };
}

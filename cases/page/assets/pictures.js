// Pictures of an answer, drawn from its numbers: no mechanics here.
import { element } from "./page.js";
import { plainNumber } from "./fields.js";

const draw = (tag, attributes, ...children) => element(`svg:${tag}`, attributes, ...children);
const SIDES = ["port", "starboard"];
const TORQUE = 4, BENDING = 3;
const STEP = 1, LARGE_STEP = 10; // mm, of the arrow keys

function frame(place, title, caption, width, height, label, role = "img") {
  const picture = draw("svg", { viewBox: `0 0 ${width} ${height}`, role, "aria-label": label });
  place.replaceChildren(element("h2", {}, title), picture, element("figcaption", {}, caption));
  return picture;
}

const line = (x1, y1, x2, y2, name) => draw("line", { x1, y1, x2, y2, class: name });
const text = (x, y, words, anchor = "start", name = "") => draw("text", { x, y, "text-anchor": anchor, class: name }, words);
const rounded = (value) => plainNumber(Number(value.toPrecision(3))).replace("-", "−");
function newtonMetres(value) {
  const [ratio, unit] = Math.abs(value) >= 1e6 ? [1e6, "MN·m"] : Math.abs(value) >= 1e3 ? [1e3, "kN·m"] : [1, "N·m"];
  return `${rounded(value / ratio)} ${unit}`;
}

// The beam's end seen from the side, forward to the right: the stay's line against the beam's axis. Its foot is dragged.
export function sideView(place, answer, page) {
  const cases = Object.entries(answer.stay);
  if (!cases.length || !answer.shape.tang) {
    place.replaceChildren();
    return;
  }
  const [name, stay] = cases[0];
  if (place.dataset.dragged) { // the picture under the pointer stays; its numbers follow
    place.querySelector("figcaption").textContent = caption(name, stay);
    place.update(answer);
    return;
  }
  const focused = document.activeElement !== null && document.activeElement === place.querySelector(".handle");
  const width = 360, height = 300;
  const reach = Math.max(answer.shape.tang.up, answer.shape.radius, Math.abs(answer.shape.tang.forward), 0.1) * 1.6;
  const scale = 130 / reach;
  const x = (forward) => width / 2 + scale * forward, y = (up) => height * 0.62 - scale * up;
  const picture = frame(place, "Tang and stay, from the side", caption(name, stay), width, height,
    `The stay's line passes the beam's axis at ${Math.round(1000 * stay.offset)} mm in the case ${name}`, "group");
  picture.append(text(width - 6, 16, "forward →", "end", "quiet"));
  const section = draw("circle", { cx: x(0), cy: y(0), r: scale * answer.shape.radius, class: "beam" });
  const axis = draw("circle", { cx: x(0), cy: y(0), r: 3, class: "axis" });
  const pull = line(0, 0, 0, 0, "stay"), on = line(0, 0, 0, 0, "stay produced"), foot = line(0, 0, 0, 0, "tang"), arm = line(0, 0, 0, 0, "arm");
  const free = draw("circle", { r: 4, class: "free" });
  const handle = draw("circle", {
    r: 11, class: "handle", tabindex: "0", role: "button",
    "aria-label": "The tang's hole: drag it, or move it by arrow keys, 1 mm each, with Shift 10 mm",
  });
  picture.append(section, axis, on, pull, foot, arm, free, handle);

  function set(node, values) {
    for (const [key, value] of Object.entries(values)) node.setAttribute(key, value);
  }
  let at = answer.shape.tang;
  place.update = (found) => {
    const now = found.stay[name] ?? stay;
    const along = [-Math.sin(now.rake), Math.cos(now.rake)];
    const far = 2 * reach;
    const miss = at.forward * along[1] - at.up * along[0]; // of the axis from the line, square to it
    set(pull, { x1: x(at.forward), y1: y(at.up), x2: x(at.forward + far * along[0]), y2: y(at.up + far * along[1]) });
    set(on, { x1: x(at.forward), y1: y(at.up), x2: x(at.forward - far * along[0]), y2: y(at.up - far * along[1]) });
    set(foot, { x1: x(0), y1: y(0), x2: x(at.forward), y2: y(at.up) });
    set(arm, { x1: x(0), y1: y(0), x2: x(miss * along[1]), y2: y(-miss * along[0]) });
    set(free, { cx: x(now.free), cy: y(at.up) });
    set(handle, { cx: x(at.forward), cy: y(at.up) });
  };
  place.update(answer);
  if (focused) handle.focus(); // an answer that comes in takes no focus away

  function moved(to, gesture) {
    at = to;
    place.update(answer);
    page.change({ "stay.forward": millimetres(to.forward), "stay.up": millimetres(to.up) }, gesture);
  }
  handle.addEventListener("pointerdown", (event) => {
    handle.setPointerCapture(event.pointerId);
    place.dataset.dragged = "true";
    event.preventDefault();
    handle.focus();
  });
  handle.addEventListener("pointermove", (event) => {
    if (!place.dataset.dragged) return;
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
    moved({ forward: (point.x - width / 2) / scale, up: (height * 0.62 - point.y) / scale }, "tang");
  });
  const dropped = () => {
    delete place.dataset.dragged;
    page.gesture = null;
  };
  handle.addEventListener("pointerup", dropped);
  handle.addEventListener("pointercancel", dropped);
  handle.addEventListener("keydown", (event) => {
    const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const step = (event.shiftKey ? LARGE_STEP : STEP) / 1000;
    place.dataset.dragged = "true"; // the handle keeps its focus
    moved({ forward: at.forward + step * way[0], up: at.up + step * way[1] });
  });
  handle.addEventListener("blur", dropped);
  place.append(element("button", {
    type: "button", onclick: () => page.change({ "stay.forward": millimetres(answer.stay[name].free) }),
  }, "Put it where the torque is none"));
}

function caption(name, stay) {
  return `${name}: the line passes the axis at ${rounded(1000 * Math.abs(stay.offset))} mm; its torque is ${newtonMetres(stay.torque)}. No torque with the tang ${rounded(1000 * Math.abs(stay.free))} mm ${stay.free < 0 ? "behind" : "ahead of"} the axis (ring).`;
}

const millimetres = (metres) => `${plainNumber(Math.round(1e5 * metres) / 100)} mm`;

// Torque and vertical bending on both hulls in every case: bars from zero.
export function jointLoads(place, answer) {
  const rows = answer.cases.map((one) => ({ name: one.name, values: SIDES.flatMap((side) => [one.load[side][TORQUE], one.load[side][BENDING]]) }));
  const most = Math.max(...rows.flatMap((row) => row.values.map(Math.abs)), 1e-9);
  rows.sort((one, other) => Math.max(...other.values.map(Math.abs)) - Math.max(...one.values.map(Math.abs)));
  const kept = rows.slice(0, 8);
  const height = 34 + 42 * kept.length, width = 360, middle = 180;
  const picture = frame(place, "Moments at the joints", `Torque and vertical bending that the crossbeam puts on each hull; the longest bar is ${newtonMetres(most)}. ${rows.length > kept.length ? `The largest ${kept.length} of ${rows.length} cases.` : ""}`,
    width, height, `Joint moments by case, at most ${newtonMetres(most)}`);
  picture.append(text(4, 14, "torque", "start", "torque"), text(60, 14, "vertical bending", "start", "bending"), text(width - 4, 14, "thick: port, thin: starboard", "end", "quiet"));
  kept.forEach((row, number) => {
    const top = 30 + 42 * number;
    picture.append(text(4, top + 6, row.name));
    row.values.forEach((value, i) => {
      const length = (middle - 6) * Math.abs(value) / most;
      picture.append(draw("rect", { x: value < 0 ? middle - length : middle, y: top + 9 + 9 * (i % 2) + (i > 1 ? 5 : 0), width: length, height: i > 1 ? 2 : 4, class: i % 2 ? "bending" : "torque" }));
    });
  });
  picture.append(line(middle, 24, middle, height - 4, "axis-line"));
}

// What the joint attracts against its own stiffness, between free and rigid: points of the exact curve, over four decades.
export function attractionCurve(place, answer) {
  const curve = answer.curves.pitch;
  if (!curve) {
    place.replaceChildren();
    return;
  }
  const width = 360, height = 240, left = 48, right = 350, low = 200, high = 30;
  const { own, points, share } = curve, first = Math.log10(points[0][0]), last = Math.log10(points.at(-1)[0]);
  const most = Math.max(1, share, ...points.map((one) => one[1]));
  const x = (k) => left + (right - left) * Math.min(1, Math.max(0, (Math.log10(k) - first) / (last - first)));
  const y = (part) => low - (low - high) * part / most;
  const picture = frame(place, "Torque that the joint attracts",
    `Half-torque stiffness ${newtonMetres(curve.half)}/rad. This joint, ${own === null ? "rigid in twist" : `${newtonMetres(own)}/rad`}, attracts ${Math.round(100 * share)} % of the torque of a joint that is rigid in all directions.`,
    width, height, `The joint attracts ${Math.round(100 * share)} % of a rigid joint's torque`);
  for (const part of [0, 0.5, 1]) picture.append(line(left, y(part), right, y(part), "grid"), text(left - 5, y(part) + 4, `${100 * part} %`, "end", "quiet"));
  picture.append(draw("polyline", { points: points.map(([k, part]) => `${x(k)},${y(part)}`).join(" "), class: "curve" }),
    draw("circle", { cx: own === null ? right : own === 0 ? left : x(own), cy: y(share), r: 6, class: "mark" }),
    text(right, low + 18, "stiffer →", "end", "quiet"));
}

// The crossbeam from ahead: how it moves up and forward in the case that moves it most.
export function beamShape(place, answer) {
  const across = answer.shape.point.map((point) => point[1]);
  const size = (moved) => Math.max(...moved.map((one) => Math.hypot(one[0], one[2])));
  const [name, moved] = Object.entries(answer.shape.moved).reduce((one, other) => (size(other[1]) > size(one[1]) ? other : one));
  const width = 360, height = 200, most = size(moved) || 1;
  const x = (y) => width / 2 - (width / 2 - 16) * y / Math.max(...across.map(Math.abs), 1e-9);
  const row = (component) => moved.map((one, i) => `${x(across[i])},${height / 2 - 70 * one[component] / most}`).join(" ");
  const picture = frame(place, "The crossbeam moved", `${name}: at most ${rounded(1000 * most)} mm, as drawn ${Math.round(70 / most / ((width / 2 - 16) / Math.max(...across.map(Math.abs))))} times larger. Port on the left.`,
    width, height, `The crossbeam moves by at most ${plainNumber(1000 * most)} mm in the case ${name}`);
  picture.append(line(16, height / 2, width - 16, height / 2, "grid"),
    draw("polyline", { points: row(2), class: "curve" }), draw("polyline", { points: row(0), class: "curve second" }),
    text(8, 16, "up", "start", "first-words"), text(34, 16, "forward", "start", "second-words"));
}

// The student's pictures: the frame with its loads and movements, and a diagram of each action; projected by the server, only scaled here.
import { element } from "./page.js";
import { quantity } from "./tables.js";

const draw = (tag, attributes, ...children) => element(`svg:${tag}`, attributes, ...children);
const WIDTH = 360, MARGIN = 44, ABOVE = 56, LOWEST = 150, HIGHEST = 330;
const NAMES = { N: "Axial force N", Vy: "Shear force Vy", Vz: "Shear force Vz", T: "Torque T", My: "Bending moment My", Mz: "Bending moment Mz" };
export const unitOf = (action) => (/^[TM]/.test(action) ? "N·m" : "N");
const REL_TOL_DRAWN = 1e-9; // of the largest action: a smaller one is rounding, and has no diagram
const MOST_NAMES = 14; // nodes that are named
const MOST_LINES = 8; // by which words may be moved

// From metres on the paper to the picture's own units: everything fits.
export function paper(points) {
  const across = points.map((one) => one[0]), up = points.map((one) => one[1]);
  const left = Math.min(...across), low = Math.min(...up);
  const wide = Math.max(...across) - left, high = Math.max(...up) - low;
  const room = WIDTH - 2 * MARGIN;
  const scale = Math.min(room / (wide || 1e-9), (HIGHEST - 2 * ABOVE) / (high || 1e-9));
  const height = Math.max(LOWEST, scale * high + 2 * ABOVE);
  const x0 = (WIDTH - scale * wide) / 2, y0 = (height + scale * high) / 2;
  const at = ([x, y]) => [x0 + scale * (x - left), y0 - scale * (y - low)];
  const back = ({ x, y }) => [left + (x - x0) / scale, low + (y0 - y) / scale];
  return { height, at, back, list: (many) => many.map((one) => at(one).map((value) => value.toFixed(2)).join(",")).join(" ") };
}

export function framePoints(picture) {
  return [...picture.nodes.map((node) => node.at), ...picture.beams.flatMap((beam) => beam.point), ...picture.cables.flatMap((cable) => cable.point)];
}

// Words that stand on one another are moved up or down, the later ones first by the least that frees them, within the picture.
export function apart(svg) {
  const { height } = svg.viewBox.baseVal, placed = [];
  const free = (box) => box.y >= 0 && box.y + box.height <= height && !placed.some((other) =>
    box.x < other.x + other.width && other.x < box.x + box.width && box.y < other.y + other.height && other.y < box.y + box.height);
  for (const words of svg.querySelectorAll("text")) {
    const { x, y, width, height: high } = words.getBBox();
    const places = [0, ...Array.from({ length: MOST_LINES }, (_, line) => [(line + 1) * high, -(line + 1) * high]).flat()];
    const by = places.find((move) => free({ x, y: y + move, width, height: high })) ?? 0;
    if (by) words.setAttribute("y", Number(words.getAttribute("y")) + by);
    placed.push({ x, y: y + by, width, height: high });
  }
}

export function plate(place, name, title, caption, height, label) {
  let figure = place.querySelector(`[data-picture="${name}"]`);
  if (!figure) place.append(figure = element("figure", { "data-picture": name }));
  const svg = draw("svg", { viewBox: `0 0 ${WIDTH} ${height.toFixed(0)}`, role: "img", "aria-label": label });
  figure.replaceChildren(element("h2", {}, title), svg, element("figcaption", {}, caption));
  return svg;
}

export function diagrams(place, { picture, modes, cut }, pick) {
  const kept = ["shape"];
  shape(place, picture, cut, pick);
  for (const one of modes) kept.push(mode(place, one));
  const sizes = Object.fromEntries(Object.keys(NAMES).map((action) => [action, Math.max(0, ...picture.beams.flatMap((beam) => beam.actions[action].map(Math.abs)))]));
  const reach = Math.max(...framePoints(picture).map((one) => Math.hypot(one[0] - picture.nodes[0].at[0], one[1] - picture.nodes[0].at[1])), 1e-9);
  const least = (action) => REL_TOL_DRAWN * Math.max(...Object.entries(sizes).map(([other, size]) => size * (unitOf(other) === unitOf(action) ? 1 : unitOf(other) === "N" ? reach : 1 / reach)));
  for (const [action, size] of Object.entries(sizes)) {
    if (size <= least(action)) continue;
    kept.push(action);
    diagram(place, picture, action, size);
  }
  for (const figure of [...place.children]) if (!kept.includes(figure.dataset.picture)) figure.remove();
  for (const name of kept) place.append(place.querySelector(`[data-picture="${name}"]`));
}

function shape(place, picture, cut, pick) {
  const moved = [...picture.beams, ...picture.cables].map((one) => movedLine(one, picture.enlarged));
  const on = paper([...framePoints(picture), ...moved.flat()]);
  const motionless = picture.beams.every((beam) => beam.moved.every((one) => one[0] === 0 && one[1] === 0));
  const large = Number(picture.enlarged.toPrecision(3)).toLocaleString("en");
  const moves = motionless ? "no movement" : `movements ${picture.enlarged === 1 ? "to scale" : `drawn ${large} times larger`}`;
  const svg = plate(place, "shape", "Frame, loads and movements", `Seen ${picture.view}; ${moves}.${cut ? " Click on a beam to cut it there." : ""}`, on.height,
    `The frame with its loads; ${moves}`);
  still(svg, picture, on, true);
  for (const points of moved) svg.append(draw("polyline", { points: on.list(points), class: "curve" }));
  loads(svg, picture.loads, on);
  apart(svg);
  svg.addEventListener("click", (event) => {
    const point = on.back(new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse()));
    const found = nearest(picture.beams, point);
    if (found) pick(found.beam, found.fraction);
  });
  if (cut) {
    const beam = picture.beams.find((one) => one.name === cut.beam);
    const [x, y] = on.at(along(beam, cut.station ?? cut.fraction * cut.length));
    svg.append(draw("circle", { cx: x, cy: y, r: 5, class: "cut" }));
  }
}

const movedLine = (one, times) => one.point.map((point, i) => point.map((value, k) => value + times * one.moved[i][k]));

// A mode of buckling or vibration; the name of its picture.
function mode(place, { kind, number, value, picture }) {
  const name = `${kind.split(" ")[0]}-${number}`;
  const lines = picture.beams.map((beam) => movedLine(beam, picture.enlarged));
  const on = paper([...framePoints(picture), ...lines.flat()]);
  const found = Number(value.toPrecision(5));
  const title = kind === "frequency" ? `Mode ${number} of vibration: ${found} Hz` : `Buckling mode ${number}: ${found} × the load`;
  const svg = plate(place, name, title, `Seen ${picture.view}. Only the shape of a mode has a meaning, not its size.`, on.height, title);
  still(svg, picture, on, false);
  for (const line of lines) svg.append(draw("polyline", { points: on.list(line), class: "curve" }));
  return name;
}

// The beam and the fraction of its length that are nearest to a place on the paper.
function nearest(beams, [x, y]) {
  let best = null;
  for (const beam of beams) {
    for (let i = 1; i < beam.point.length; i += 1) {
      const [from, to] = [beam.point[i - 1], beam.point[i]];
      const along = [to[0] - from[0], to[1] - from[1]], long = along[0] ** 2 + along[1] ** 2;
      const part = long ? Math.min(1, Math.max(0, ((x - from[0]) * along[0] + (y - from[1]) * along[1]) / long)) : 0;
      const away = Math.hypot(x - from[0] - part * along[0], y - from[1] - part * along[1]);
      const station = beam.station[i - 1] + part * (beam.station[i] - beam.station[i - 1]);
      if (!best || away < best.away) best = { away, beam: beam.name, fraction: station / beam.station.at(-1) };
    }
  }
  return best;
}

// The place on the paper at a station of a beam.
function along(beam, station) {
  const next = Math.max(1, beam.station.findIndex((one) => one >= station));
  const [from, to] = [beam.station[next - 1], beam.station[next]];
  const part = to > from ? Math.min(1, Math.max(0, (station - from) / (to - from))) : 0;
  return beam.point[next].map((value, k) => beam.point[next - 1][k] + part * (value - beam.point[next - 1][k]));
}

// The frame at rest: beams, cables, supports, and names of nodes.
export function still(svg, picture, on, named) {
  for (const support of picture.supports) svg.append(...supportSymbol(support, on));
  for (const cable of picture.cables) svg.append(draw("polyline", { points: on.list(cable.point), class: "cable" }));
  for (const beam of picture.beams) svg.append(draw("polyline", { points: on.list(beam.point), class: "beam" }));
  if (named && picture.nodes.length <= MOST_NAMES) {
    for (const node of picture.nodes) {
      const [x, y] = on.at(node.at);
      svg.append(draw("text", { x: x + 5, y: y - 6, class: "quiet" }, node.name));
    }
  }
}

function supportSymbol({ at, kind, along }, on) {
  const [x, y] = on.at(at);
  if (kind === "clamp") return [draw("rect", { x: x - 6, y: y - 6, width: 12, height: 12, class: "clamp" })];
  if (kind === "spring") return [draw("polyline", { points: `${x},${y} ${x},${y + 4} ${x - 5},${y + 6} ${x + 5},${y + 10} ${x - 5},${y + 14} ${x},${y + 16} ${x},${y + 20}`, class: "support" })];
  const turned = kind === "pin" || Math.hypot(...along) < 1e-9 ? 0 : 90 - Math.atan2(along[1], along[0]) * 180 / Math.PI;
  const symbol = [draw("polygon", { points: "0,0 -7,12 7,12", class: "support" })];
  if (kind !== "pin") symbol.push(draw("line", { x1: -9, x2: 9, y1: 16, y2: 16, class: "support" }));
  return [draw("g", { transform: `translate(${x} ${y}) rotate(${turned})` }, ...symbol)];
}

// An arrow with its head at a place.
export function arrow(svg, [x, y], [dx, dy], length, name, words, inward = true) {
  const size = Math.hypot(dx, dy);
  if (size < 1e-12) { // along the line of sight
    svg.append(draw("circle", { cx: x, cy: y, r: 5, class: `${name} ring` }), draw("circle", { cx: x, cy: y, r: 1.5, class: `${name} head` }));
    if (words) svg.append(draw("text", { x: x + 8, y: y + 14, class: `${name}-words` }, words));
    return;
  }
  const [ux, uy] = [dx / size, -dy / size];
  const [from, to] = inward ? [[x - length * ux, y - length * uy], [x - 2 * ux, y - 2 * uy]] : [[x, y], [x + length * ux, y + length * uy]];
  const wing = (side) => `${to[0] - 8 * ux + side * 3.5 * uy},${to[1] - 8 * uy - side * 3.5 * ux}`;
  svg.append(draw("line", { x1: from[0], y1: from[1], x2: to[0] - 6 * ux, y2: to[1] - 6 * uy, class: name }),
    draw("polygon", { points: `${to[0]},${to[1]} ${wing(1)} ${wing(-1)}`, class: `${name} head` }));
  if (words) {
    const tail = inward ? from : to;
    const end = Math.abs(ux) < 0.5 ? (tail[0] > WIDTH - 60 ? "end" : tail[0] < 60 ? "start" : "middle") : tail[0] < WIDTH / 2 ? "start" : "end";
    svg.append(draw("text", { x: Math.min(WIDTH - 3, Math.max(3, tail[0])), y: tail[1] + (Math.abs(ux) > 0.5 && name === "face" ? -17 : (inward ? -uy : uy) > 0 ? 12 : -4), "text-anchor": end, class: `${name}-words` }, words));
  }
}

// A moment: turning about the line of sight as an arc, else as an arrow with two heads along its axis.
export function turning(svg, [x, y], vector, turn, name, words, row = 0) {
  if (Math.abs(turn) > 0.5 * Math.hypot(...vector)) {
    const way = turn > 0 ? 1 : -1, r = 13, half = 0.9; // positive: anticlockwise as seen; angles of the picture go the other way
    const on = (angle) => [x + r * Math.cos(angle), y + r * Math.sin(angle)];
    const begin = on(-way * half), end = on(way * half);
    const [tx, ty] = [Math.sin(half), -way * Math.cos(half)]; // where the arc goes at its end
    const beside = (side) => `${end[0] - 3 * tx - side * 4 * ty},${end[1] - 3 * ty + side * 4 * tx}`;
    svg.append(draw("path", { d: `M ${begin.join(" ")} A ${r} ${r} 0 1 ${way > 0 ? 0 : 1} ${end.join(" ")}`, class: `${name} arc` }),
      draw("polygon", { points: `${end[0] + 5 * tx},${end[1] + 5 * ty} ${beside(1)} ${beside(-1)}`, class: `${name} head` }));
    if (words) svg.append(draw("text", { x: Math.min(WIDTH - 3, x + r + 5), y: y + 22 + 13 * row, "text-anchor": x > WIDTH - 90 ? "end" : "start", class: `${name}-words` }, words));
    return;
  }
  arrow(svg, [x, y], vector, 40, name, words);
  const size = Math.hypot(...vector);
  if (size > 1e-12) arrow(svg, [x - 7 * vector[0] / size, y + 7 * vector[1] / size], vector, 33, name, "");
}

export function loads(svg, list, on) {
  const most = Math.max(...list.filter((one) => one.kind === "line").flatMap((one) => one.vector.map((vector) => Math.hypot(...vector))), 1e-30);
  const said = new Set(), placed = []; // words of equal loads near one another stand once
  for (const one of list) {
    let words = quantity(one.size, one.unit);
    if (one.kind !== "line") {
      const at = on.at(one.at);
      if (placed.some((other) => other.words === words && Math.abs(other.at[0] - at[0]) < 60 && Math.abs(other.at[1] - at[1]) < 40)) words = "";
      else placed.push({ words, at });
    }
    if (one.kind === "force") arrow(svg, on.at(one.at), one.vector, 34, "load", words);
    else if (one.kind === "moment") turning(svg, on.at(one.at), one.vector, one.turn, "load", words);
    else {
      const ends = one.at.map(on.at);
      const tails = one.vector.map(([dx, dy], i) => [ends[i][0] - 20 * dx / most, ends[i][1] + 20 * dy / most]);
      svg.append(draw("polygon", { points: [...ends, ...[...tails].reverse()].map((point) => point.join(",")).join(" "), class: "line-load" }));
      const long = Math.hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]);
      const count = Math.max(1, Math.round(long / 26));
      for (let i = 0; i <= count; i += 1) {
        const part = i / count, mix = (pair) => pair[0].map((value, k) => value + (pair[1][k] - value) * part);
        const vector = mix(one.vector), size = Math.hypot(...vector);
        if (size > 0.2 * most) arrow(svg, mix(ends), vector, 20 * size / most, "load thin", "");
      }
      if (!said.has(words)) {
        const middle = tails[0].map((value, k) => (value + tails[1][k]) / 2);
        svg.append(draw("text", { x: middle[0], y: middle[1] - 5, "text-anchor": "middle", class: "load-words" }, words));
        said.add(words);
      }
    }
  }
}

function diagram(place, picture, action, most) {
  const unit = unitOf(action);
  const reach = framePoints(picture);
  const size = Math.max(...[0, 1].map((k) => Math.max(...reach.map((one) => one[k])) - Math.min(...reach.map((one) => one[k]))), 1e-9);
  const scale = 0.22 * size / most;
  const line = (beam) => beam.point.map((point, i) => [0, 1].map((k) => point[k] + scale * beam.actions[action][i] * beam.sides[action][k]));
  const on = paper([...reach, ...picture.beams.flatMap(line)]);
  let peak = null;
  for (const beam of picture.beams) {
    beam.actions[action].forEach((value, i) => {
      if (!peak || Math.abs(value) > Math.abs(peak.value) * (1 + 1e-9)) peak = { value, beam, i };
    });
  }
  const words = quantity(peak.value, unit);
  const drawn = /^M/.test(action) ? ", drawn on the side in tension" : "";
  const svg = plate(place, action, NAMES[action], `Largest ${words} in ${peak.beam.name}, ${Number(peak.beam.station[peak.i].toPrecision(4))} m from its start${drawn}.`, on.height,
    `${NAMES[action]}: at most ${words} in ${peak.beam.name}`);
  for (const beam of picture.beams) {
    const curve = line(beam);
    svg.append(draw("polygon", { points: on.list([...beam.point, ...[...curve].reverse()]), class: "area" }));
  }
  still(svg, picture, on, false);
  for (const beam of picture.beams) svg.append(draw("polyline", { points: on.list(line(beam)), class: "curve" }));
  const [x, y] = on.at(line(peak.beam)[peak.i]);
  svg.append(draw("circle", { cx: x, cy: y, r: 3, class: "mark" }),
    draw("text", { x: Math.min(WIDTH - 3, Math.max(3, x)), y: y < 20 ? y + 16 : y - 7, "text-anchor": x > WIDTH - 80 ? "end" : x < 80 ? "start" : "middle" }, words));
}

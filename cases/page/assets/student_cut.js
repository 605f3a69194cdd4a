// The free body of a cut: a beam chosen, the cut moved along it; both parts drawn and tabulated, with all that acts on them.
import { element } from "./page.js";
import { apart, arrow, framePoints, paper, plate, turning } from "./student_pictures.js";
import { quantity } from "./tables.js";

const draw = (tag, attributes, ...children) => element(`svg:${tag}`, attributes, ...children);
const COMPONENTS = ["Fx", "Fy", "Fz", "Mx", "My", "Mz"];
const unit = (number) => (number < 3 ? "N" : "N·m");
const REL_TOL_CLOSED = 1e-9; // of all loads and reactions: a smaller sum is rounding

export function freeBody(page) {
  const beam = element("select", { id: "cut-beam", onchange: () => page.put({ beam: beam.value, at: null }) });
  const slider = element("input", { type: "range", min: "0", max: "1", step: "0.01", id: "cut-at", oninput: () => page.put({ beam: beam.value, at: slider.value }) });
  const words = element("output", { for: "cut-at", class: "aside" });
  const fault = element("p", { class: "error", role: "status" });
  const pictures = element("div", { class: "pictures" }), tables = element("div", { class: "cut-tables" });
  const place = element("section", { "aria-label": "Free body of a cut", class: "free-body", hidden: true },
    element("h2", {}, "Free body of a cut"),
    element("div", { class: "tools" }, element("label", { for: "cut-beam" }, "Beam"), beam,
      element("span", { class: "tools" }, element("label", { for: "cut-at" }, "cut from its start to its end"), slider), words),
    fault, pictures, tables);

  return {
    place,
    clear() {
      place.hidden = true;
    },
    draw({ picture, cut }) {
      place.hidden = cut === null;
      if (cut === null) return;
      const names = picture.beams.map((one) => one.name);
      if ([...beam.options].map((one) => one.value).join() !== names.join()) beam.replaceChildren(...names.map((name) => element("option", { value: name }, name)));
      beam.value = cut.beam;
      if (document.activeElement !== slider) slider.value = cut.fraction;
      fault.textContent = cut.fault ?? "";
      pictures.hidden = tables.hidden = !cut.parts;
      words.textContent = `${length(cut.station ?? cut.fraction * cut.length)} of ${length(cut.length)}`;
      if (!cut.parts) return;
      cut.parts.forEach((part) => drawn(pictures, picture, part));
      tables.replaceChildren(...cut.parts.map(table));
    },
  };
}

const length = (metres) => `${Number(metres.toPrecision(4))} m`;
const titleOf = (part) => (part.whole ? `The part with the ${part.side} of the beam` : `The piece of the beam towards its ${part.side}`);

function drawn(place, picture, part) {
  const own = [...part.lines.flat(), ...part.rows.flatMap((row) => row.drawn.map((one) => one.at))];
  const on = paper(part.whole ? [...framePoints(picture), ...own] : own);
  const svg = plate(place, part.side, titleOf(part), caption(part), on.height,
    `${titleOf(part)}: ${part.rows.map((row) => `${row.kind}, ${row.where}`).join("; ")}`);
  if (part.whole) for (const beam of picture.beams) svg.append(draw("polyline", { points: on.list(beam.point), class: "ghost" }));
  for (const line of part.lines) svg.append(draw("polyline", { points: on.list(line), class: "beam" }));
  for (const row of part.rows) {
    const name = row.kind === "reaction" ? "reaction" : row.kind.startsWith("load") ? "load" : "face";
    const size = Math.hypot(...row.outward);
    const out = size > 1e-9 ? [row.outward[0] / size, -row.outward[1] / size] : [0, 0];
    let moments = 0; // at this place, so that their words do not stand on one another
    for (const one of row.drawn) {
      const pulls = one.kind === "force" && one.vector[0] * out[0] - one.vector[1] * out[1] > 0.5 * Math.hypot(...one.vector);
      acting(svg, on, one, name, `${one.name ?? ""} ${quantity(one.size, one.unit)}`.trim(), out, pulls, one.kind === "moment" ? moments++ : 0);
    }
  }
  apart(svg);
}

// A force that pulls at a face is drawn from it, every other with its head where it acts.
function acting(svg, on, one, name, words, out, pulls, line) {
  const at = on.at(one.at).map((value, k) => value + 5 * out[k]);
  if (one.kind === "force") arrow(svg, at, one.vector, 36, name, words, !pulls);
  else turning(svg, at, one.vector, one.turn, name, words, line);
}

function caption(part) {
  const kept = part.whole ? "All that is connected with the face." : "One cut does not part this frame: the piece goes to the next node that anything else is connected with.";
  return `${kept} All that acts sums to ${part.imbalance === 0 ? "0" : `${scientific(part.imbalance)} of all loads and reactions`}.`;
}

function scientific(value) {
  const [digits, power] = value.toExponential(0).split("e");
  return `${digits}·10${[...power.replace("+", "")].map((sign) => "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"["-0123456789".indexOf(sign)]).join("")}`;
}

function table(part) {
  const total = part.imbalance < REL_TOL_CLOSED ? COMPONENTS.map(() => 0) : part.sum;
  const rows = [...part.rows.map((row) => [`${row.kind}, ${row.where}`, row.about]), ["sum", total]];
  const kept = COMPONENTS.map((_, number) => number).filter((number) => rows.some(([, values]) => values[number] !== 0));
  const shown = kept.length ? kept : [0];
  return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": `${titleOf(part)}: all that acts` }, element("table", { class: "margin-table" },
    element("caption", {}, `${titleOf(part)}: forces, and moments about the cut`),
    element("thead", {}, element("tr", {}, element("th", { scope: "col" }, "acting"), ...shown.map((number) => element("th", { scope: "col" }, COMPONENTS[number])))),
    element("tbody", {}, ...rows.map(([words, values]) => element("tr", { class: words === "sum" ? "sum" : "" }, element("th", { scope: "row" }, words),
      ...shown.map((number) => element("td", { class: "n" }, quantity(values[number], unit(number)))))))));
}

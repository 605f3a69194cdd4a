// How sure a joint's numbers are: sentences, chances of its parts, and what each input moves.
import { element } from "./page.js";
import { csvButton, quantity, table } from "./tables.js";

const percent = (share) => (share < 0.001 ? "below 0.1 %" : share > 0.999 ? "over 99.9 %" : `${(100 * share).toPrecision(2)} %`);

export function scatter(found) {
  const parts = found.parts.map((one) => [one.part, one.check, [one.margin, ""], [one.index, ""], percent(one.below_zero), percent(one.failure)]);
  const titles = ["part", "check", "margin", "index β", "P(margin < 0)", "P(load > capacity)"];
  return [
    element("section", { "aria-label": "Scatter" }, element("h2", {}, "How sure the numbers are"),
      element("ul", {}, ...found.sentences.map((sentence) => element("li", {}, sentence))), element("p", { class: "aside" }, found.how_read)),
    element("section", { "aria-label": "Sensitivity" }, element("h2", {}, "What each input moves"),
      bars("Governing margin", found.effects, "margin", found.nominal.margin, ""), bars("Torque", found.effects, "torque", found.nominal.torque, "N·m")),
    element("section", { "aria-label": "Chances" }, element("h2", {}, "Chances of every part"), table(titles, parts, "Chances of every part"),
      csvButton("Chances as CSV", "chances.csv", titles, found.parts.map((one) => [one.part, one.check, [one.margin, ""], [one.index, ""], [one.below_zero, ""], [one.failure, ""]]))),
  ];
}

// A bar from the value with an input one standard deviation below its median to that with it one above.
function bars(title, effects, of, nominal, unit) {
  const list = effects.filter((one) => one[of].every(Number.isFinite) && one[of][0] !== one[of][1])
    .sort((one, other) => Math.abs(other[of][1] - other[of][0]) - Math.abs(one[of][1] - one[of][0])).slice(0, 10);
  const all = [nominal, ...list.flatMap((one) => one[of])].filter(Number.isFinite);
  const low = Math.min(...all), high = Math.max(...all);
  const x = (value) => 250 + 240 * (value - low) / (high - low || 1);
  const draw = (tag, attributes, ...children) => element(`svg:${tag}`, attributes, ...children);
  const picture = draw("svg", { viewBox: `0 0 500 ${30 + 24 * list.length}`, role: "img", "aria-label": `${title}: ${list.map((one) => `${one.input} ${quantity(one[of][0], unit)} to ${quantity(one[of][1], unit)}`).join("; ")}` },
    ...list.flatMap((one, number) => [
      draw("text", { x: 242, y: 30 + 24 * number, "text-anchor": "end" }, one.input),
      draw("rect", { x: Math.min(...one[of].map(x)), y: 20 + 24 * number, width: Math.abs(x(one[of][1]) - x(one[of][0])), height: 12, class: "torque" },
        draw("title", {}, `${one.below} … ${one.above}: ${quantity(one[of][0], unit)} … ${quantity(one[of][1], unit)}`)),
    ]),
    draw("line", { x1: x(nominal), x2: x(nominal), y1: 14, y2: 24 + 24 * list.length, class: "axis-line" }));
  return element("figure", { class: "wide" }, element("h3", {}, title), picture,
    element("figcaption", {}, `${quantity(low, unit)} to ${quantity(high, unit)}; the line: ${quantity(nominal, unit)}, all as entered. Each input alone, one standard deviation to either side.`));
}

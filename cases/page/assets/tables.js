// Tables of numbers in SI, for reading and as CSV.
import { element } from "./page.js";

const PREFIXES = [[1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"]];

// A number with three digits, in the prefix that suits it.
export function quantity(value, unit) {
  if (value === null || value === undefined) return "–";
  if (value === 0) return unit ? `0 ${unit}` : "0";
  const size = Math.abs(value);
  if (!unit) return Number(value.toPrecision(3)).toString().replace("-", "−");
  const [ratio, prefix] = PREFIXES.find(([least]) => size >= least) ?? PREFIXES.at(-1);
  return `${Number((value / ratio).toPrecision(3)).toString().replace("-", "−")} ${prefix}${unit}`;
}

// A cell is a text, or a number with its unit.
export function table(titles, rows, label) {
  return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": label }, element("table", { class: "margin-table" },
    element("thead", {}, element("tr", {}, ...titles.map((title) => element("th", { scope: "col" }, title)))),
    element("tbody", {}, ...rows.map((row) => element("tr", {}, ...row.map((cell) => (Array.isArray(cell)
      ? element("td", { class: "n" }, quantity(...cell)) : element("td", {}, cell ?? "–"))))))));
}

// As spreadsheets read it; a text that they would take for a formula is kept one.
function quoted(cell) {
  const value = Array.isArray(cell) ? cell[0] : cell;
  if (typeof value === "number") return String(value);
  const text = /^[=+\-@\t\r]/.test(value ?? "") ? `'${value}` : value ?? "";
  return `"${text.replaceAll('"', '""')}"`;
}

export function csvButton(words, name, titles, rows) {
  return element("button", {
    type: "button", onclick: () => {
      const unit = (number) => rows.map((row) => row[number]).find(Array.isArray)?.[1];
      const head = titles.map((title, number) => quoted(unit(number) ? `${title}, SI` : title));
      const text = [head, ...rows.map((row) => row.map(quoted))].map((row) => row.join(",")).join("\r\n");
      const address = URL.createObjectURL(new Blob([`\ufeff${text}\r\n`], { type: "text/csv" }));
      element("a", { href: address, download: name }).click();
      setTimeout(() => URL.revokeObjectURL(address), 10_000);
    },
  }, words);
}

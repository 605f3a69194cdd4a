// Every check: sorted by a click on a column, filtered by words and kind, its formula with numbers by a click on its margin.
import { element } from "./page.js";
import { csvButton, quantity } from "./tables.js";

const AT_FIRST = 80, LARGEST = 1000; // rows; a margin that is shown as a number
const KINDS = {
  all: () => true,
  "the joint's own parts": (one) => one.own,
  "parts beside it": (one) => !one.own,
  "below zero": (one) => one.margin !== null && one.margin < 0,
  "not checked": (one) => one.row === null,
};

export function checks(list, base, name) {
  const key = (one) => `${one.part}\n${one.check}\n${one.row === null}`;
  const before = new Map((base ?? []).map((one) => [key(one), one]));
  const rows = list.map((one) => ({ ...one, before: before.get(key(one))?.margin ?? null }));
  const columns = [
    ["margin", (one) => one.margin ?? Infinity],
    ...(base ? [["baseline", (one) => one.before ?? Infinity], ["change", (one) => (one.margin ?? 0) - (one.before ?? 0)]] : []),
    ["part", (one) => one.part], ["check", (one) => one.check], ["worst in", (one) => one.row ?? "~"], ["safety factor", (one) => one.factor],
  ];
  let by = 0, down = 1, all = false;
  const more = element("button", {
    type: "button", onclick: () => {
      all = true;
      draw();
    },
  }, "Show all of them");
  const words = element("input", { type: "search", id: "filter", oninput: draw });
  const kind = element("select", { id: "kind", onchange: draw }, ...Object.keys(KINDS).map((one) => element("option", {}, one)));
  const count = element("span", { class: "aside", role: "status" });
  const head = element("tr");
  const body = element("tbody");
  const kept = () => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    const found = rows.filter((one) => KINDS[kind.value](one)
      && wanted.every((word) => `${one.part} ${one.check} ${one.row} ${one.factor}`.toLowerCase().includes(word)));
    const of = columns[by][1];
    return found.sort((one, other) => down * (of(one) < of(other) ? -1 : of(one) > of(other) ? 1 : 0));
  };

  function draw() {
    head.replaceChildren(...columns.map(([title], number) => element("th", { scope: "col", "aria-sort": number === by ? (down > 0 ? "ascending" : "descending") : "none" },
      element("button", {
        type: "button", class: "sort", onclick: () => {
          [by, down] = [number, number === by ? -down : 1];
          draw();
          head.children[number].firstChild.focus();
        },
      }, title, number === by ? (down > 0 ? " ▲" : " ▼") : ""))));
    const found = kept();
    count.textContent = `${found.length} of ${rows.length} checks`;
    body.replaceChildren(...found.slice(0, all ? undefined : AT_FIRST).flatMap(line));
    more.hidden = all || found.length <= AT_FIRST;
  }

  function line(one) {
    const detail = element("tr", { hidden: true, class: "formula" }, element("td", { colspan: columns.length }, ...formula(one)));
    const button = element("button", {
      type: "button", class: one.margin !== null && one.margin < 0 ? "sort bad" : "sort", "aria-expanded": "false", title: "Show the formula",
      onclick: () => {
        detail.hidden = !detail.hidden;
        button.setAttribute("aria-expanded", String(!detail.hidden));
      },
    }, one.words);
    const numbers = base ? [one.before, one.before === null || one.margin === null ? null : one.margin - one.before] : [];
    return [element("tr", { class: one.own ? "own" : "" }, element("td", { class: "n" }, button),
      ...numbers.map((value) => element("td", { class: "n" }, margin(value))),
      element("td", { class: "part" }, one.part), element("td", {}, one.check), element("td", {}, one.row ?? "–"), element("td", {}, one.factor)), detail];
  }

  draw();
  const titles = ["part", "check", "margin", "baseline", "load", "allowable", "unit", "safety factor", "factor", "worst in", "source"];
  const asRows = () => kept().map((one) => [one.part, one.check, [one.margin ?? NaN, ""], [one.before ?? NaN, ""], [one.load ?? NaN, ""], [one.allowable ?? NaN, ""], one.unit, [one.factor_value ?? NaN, ""], one.factor, one.row ?? "not checked", one.source]);
  const out = element("span");
  const place = element("section", { "aria-label": "Margins" }, element("h2", {}, "Margins"),
    element("div", { class: "tools" }, element("label", { for: "filter" }, "Filter"), words, element("label", { for: "kind" }, "of"), kind, count, out),
    element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Table of margins" }, element("table", { class: "margin-table" }, element("thead", {}, head), body)), more);
  out.append(element("button", { type: "button", onclick: () => csvButton("", `${name}-margins.csv`, titles, asRows()).click() }, "Margins as CSV"));
  return place;
}

function margin(value) {
  return value === null ? "–" : Math.abs(value) > LARGEST ? "over 1000" : value.toFixed(2).replace(/^-(?!0\.00$)/, "−").replace("-", "");
}

// The formula of a margin, with this check's numbers.
function formula(one) {
  if (one.row === null) return [one.words, element("br"), `Formula: ${one.source}`];
  const unit = one.unit, size = (value) => (unit ? quantity(value, unit) : quantity(value, ""));
  const numbers = one.margin === null
    ? "no load"
    : `margin = allowable / (safety factor × load) − 1 = ${size(one.allowable)} / (${quantity(one.factor_value, "")} × ${size(one.load)}) − 1 = ${one.margin.toFixed(3).replace("-", "−")}`;
  return [numbers, element("br"), `Formula of load and allowable: ${one.source}. Worst in: ${one.row}.`, one.remark ? element("br") : "", one.remark];
}

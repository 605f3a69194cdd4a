// The answer card, and the table of margins.
import { element } from "./page.js";

const MARK = { inadequate: "bad", "not assessed": "quiet" };
const NONE = "–";

export function card(answers) {
  const of = (read) => answers.map((answer) => element("td", {}, ...[read(answer)].flat()));
  const line = (label, read) => element("tr", {}, element("th", { scope: "row" }, label), ...of(read));
  const load = (name) => (answer) => {
    const found = answer.loads.find((one) => one.component === name);
    return [element("b", {}, found.words), element("span", { class: "detail" }, found.row)];
  };
  const pair = (key) => (answer) => [element("b", {}, answer[key][0]), element("span", { class: "detail" }, answer[key][1])];
  const weakest = (key) => (answer) => {
    const found = answer[key];
    return found
      ? [element("b", { class: found.margin < 0 ? "bad" : "" }, `margin ${found.words}`), element("span", { class: "detail" }, `${found.any_side}: ${found.check}`)]
      : NONE;
  };
  return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Answer by joint" }, element("table", { class: "card" },
    element("thead", {}, element("tr", {}, element("td"), ...answers.map((answer) => element("th", { scope: "col" }, answer.joint,
      element("span", { class: `verdict ${MARK[answer.verdict] ?? "good"}` }, answer.verdict),
      element("span", { class: "detail" }, answer.stale ? "before the last change" : answer.depth === "quick" ? "linear cases alone" : "every case and combination"))))),
    element("tbody", {},
      line("weakest in the joint", weakest("weakest")),
      line("weakest beside it", weakest("beside")),
      line("shortest fatigue life", pair("life")),
      line("design torque", load("torque")),
      line("design vertical bending", load("vertical bending")),
      line("racking stiffness gained", pair("gained")),
    )));
}

export function marginTable(margins) {
  return element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": "Table of margins" }, element("table", { class: "margin-table" },
    element("thead", {}, element("tr", {}, ...["margin", "part", "check", "worst in", "safety factor"].map((title) => element("th", { scope: "col" }, title)))),
    element("tbody", {}, ...margins.map((one) => element("tr", { class: one.own ? "own" : "" },
      element("td", { class: one.margin !== null && one.margin < 0 ? "n bad" : "n" }, one.words),
      element("td", { class: "part" }, one.part), element("td", {}, one.check), element("td", {}, one.row ?? NONE), element("td", {}, one.factor))))));
}

// A test on the boat: planned or opened, its readings entered in a table, fitted by a button; what it teaches, with 95 % ranges.
import { element } from "./page.js";
import { csvButton, quantity, table } from "./tables.js";

const HOW = [
  "Plan a test of the joint that she has, or open the file of one. ‘forebeam plan-test BOAT --page plan.html’ prints the instructions with the cautions: jacking a boat can kill.",
  "Enter each reading as it was read, in the unit over its column; leave empty what was not read. Each gauge may start at any zero.",
  "Fit. A factor is quoted with its 95 % range where the readings taught at least a fifth of it.",
  "Save a copy of the boat file with what was found, and open it with ‘forebeam page’.",
];
const LOADS = ["up", "weights", "push"];

export function readings(page, shown, { status, faults, failed }) {
  const tables = element("div"), result = element("div");
  const file = element("input", { type: "file", id: "test-file", accept: ".toml", onchange: open });
  const fit = element("button", { type: "button", onclick: () => doing("fitting: some seconds …", fitted) }, "Fit");
  const save = element("button", { type: "button", onclick: () => doing("writing …", async () => handOut(await page.ask("engineer/test", { test: test() }, undefined, "text"), "test.toml")) }, "Save the test file");
  const patch = element("button", { type: "button", onclick: () => doing("writing …", async () => handOut(await page.ask("engineer/measured", { test: test(), changes: page.changes }, undefined, "text"), `measured-${page.boat.name}`)) }, "Save a copy of the boat file with what was found");
  const place = element("section", { "aria-label": "Test on the boat" }, element("h2", {}, "Test on the boat"),
    element("ol", { class: "how" }, ...HOW.map((one) => element("li", {}, one))),
    element("div", { class: "tools" },
      element("button", { type: "button", onclick: () => doing("planning …", planned) }, "Plan a test of this joint"),
      element("span", { class: "tools" }, element("label", { for: "test-file" }, "or open a test file"), file), fit, save),
    tables, result);

  const test = () => page.test.file ?? null;
  let drawn = null; // the tables that are shown
  let fittedOf = null; // the tables and changes that the result is of

  // One thing at a time, its faults shown in place; what is shown stays.
  async function doing(words, work) {
    faults.replaceChildren();
    status.textContent = words;
    try {
      await work();
      if (status.textContent === words) status.textContent = "";
    } catch (trouble) {
      failed(trouble);
      status.textContent = result.children.length ? "The last good answer is shown." : "";
    }
  }

  const keep = (made, gesture = null) => page.change({ file: made }, gesture, "test");

  async function planned() {
    const found = await page.ask("engineer/plan", { joint: shown(), changes: page.changes });
    if (found) keep(found.test);
  }

  async function open() {
    const [chosen] = file.files;
    if (!chosen) return;
    await doing("reading …", async () => {
      const found = await page.ask("engineer/open", { text: await chosen.text() });
      keep(found.test);
    });
    file.value = "";
  }

  async function fitted() {
    const asked = JSON.stringify([test(), page.changes]);
    const found = await page.ask("engineer/fit", { test: test(), changes: page.changes });
    if (!found) return;
    fittedOf = asked;
    result.replaceChildren(...shownResult(found));
    follow();
  }

  function change(make) {
    const made = structuredClone(test());
    make(made);
    keep(made);
  }

  function oneTest(one, number) {
    const gauges = list(one.gauges), steps = list(one.steps);
    const loads = [...new Set(steps.flatMap((step) => LOADS.flatMap((kind) => Object.keys(step[kind] ?? {}).map((at) => `${kind}: ${at}`))))];
    const cell = (words, value, unit, set) => element("td", {}, element("input", {
      type: "text", value: bare(value, unit), "aria-label": words, autocomplete: "off", spellcheck: "false", size: "7",
      onchange: (event) => change((made) => set(made.tests[number], whole(event.target.value, unit))),
    }));
    const head = [...loads, ...gauges.map((gauge) => gauge.name)];
    const units = [...loads.map(() => ""), ...gauges.map(unitOf)];
    return element("section", { "aria-label": one.name }, element("h3", {}, one.name),
      element("p", { class: "aside" }, stands(one)),
      element("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": `Readings of ${one.name}` }, element("table", { class: "margin-table readings" },
        element("thead", {}, element("tr", {}, element("th", { scope: "col" }, "step"), ...head.map((title, i) => element("th", { scope: "col" }, title, units[i] ? element("span", { class: "detail" }, units[i]) : null)))),
        element("tbody", {}, ...steps.map((step, i) => element("tr", {}, element("th", { scope: "row" }, String(i + 1)),
          ...loads.map((key) => {
            const [kind, at] = [key.slice(0, key.indexOf(": ")), key.slice(key.indexOf(": ") + 2)];
            return cell(`${key}, step ${i + 1}`, step[kind]?.[at], "", (made, text) => put(made.steps[i], kind, at, text));
          }),
          ...gauges.map((gauge) => cell(`${gauge.name}, step ${i + 1}`, step.readings?.[gauge.name], unitOf(gauge), (made, text) => put(made.steps[i], "readings", gauge.name, text)))))))));
  }

  function follow() {
    const now = test(), known = now !== null && list(now.tests).length > 0;
    for (const button of [fit, save]) button.disabled = !known;
    const text = JSON.stringify(now);
    if (text !== drawn) {
      const focus = document.activeElement?.getAttribute?.("aria-label");
      drawn = text;
      tables.replaceChildren(...(known ? [element("p", { class: "aside" }, `${now.title ?? ""}; joint: ${now.joint ?? "not said"}.`), ...list(now.tests).map(oneTest)] : []));
      if (focus) [...tables.querySelectorAll("input")].find((one) => one.getAttribute("aria-label") === focus)?.focus();
    }
    const stale = fittedOf !== null && fittedOf !== JSON.stringify([now, page.changes]);
    result.classList.toggle("stale", stale);
    const warning = result.querySelector(".stale-words");
    if (warning) warning.hidden = !stale;
  }

  function shownResult(found) {
    const percent = (share) => `${Math.round(100 * share)} %`;
    const times = (value) => (value === null ? "not quoted" : [value, ""]);
    const between = (range, unit) => (range === null ? "–" : `${quantity(range[0], unit)} to ${quantity(range[1], unit)}`);
    const titles = ["stiffness, over the file’s", "factor", "95 % range", "learned"];
    const factors = found.factors.map((one) => [one.name, times(one.factor), between(one.range, ""), percent(one.learned)]);
    const values = found.values.map((one) => [one.name, [one.before, one.unit], [one.after, one.unit], between(one.range, one.unit)]);
    const loads = found.loads.map((one) => [one.case, [one.torque[0], "N·m"], [one.torque[1], "N·m"], [one.bending[0], "N·m"], [one.bending[1], "N·m"]]);
    const gauges = found.gauges.map((one) => [one.test, one.gauge, String(one.readings), [one.miss, one.unit], [one.scatter, one.unit]]);
    return [
      element("h2", { class: found.verdict === "does not fit" ? "bad" : "good" }, found.verdict === "does not fit" ? "The model does not fit the readings" : "What the test teaches"),
      element("p", { class: "stale-words no-theory", hidden: true }, "Readings or boat were changed since: fit again."),
      element("ul", {}, ...found.sentences.map((one) => element("li", {}, one))),
      table(titles, factors, "Factors"),
      csvButton("Factors as CSV", "factors.csv", [...titles.slice(0, 2), "95 % from", "95 % to", "learned"], found.factors.map((one) => [one.name, [one.factor, ""], [one.range?.[0] ?? null, ""], [one.range?.[1] ?? null, ""], [one.learned, ""]])),
      element("h2", {}, "What follows from the factors"), table(["what", "by the file", "by the test", "95 % range"], values, "What follows from the factors"),
      element("h2", {}, `Load of the joint ‘${found.joint}’, worse hull`), table(["case", "torque, file", "torque, test", "bending, file", "bending, test"], loads, "Joint loads"),
      element("h2", {}, "Gauges"), table(["test", "gauge", "readings", "misses by", "scatter stated"], gauges, "Gauges"),
      patch,
    ];
  }

  return { place, follow };
}

const list = (value) => (Array.isArray(value) ? value : []);
const unitOf = (gauge) => /\s(\S.*)$/.exec(String(gauge.scatter ?? "").trim())?.[1] ?? "";

function put(step, kind, at, text) {
  step[kind] = { ...step[kind], [at]: text };
  if (kind !== "readings" && text === "") delete step[kind][at];
}

// A reading without the unit over its column; nothing for one that was not taken.
function bare(value, unit) {
  const text = String(value ?? "").trim();
  if (text.startsWith("?")) return "";
  return unit && text.endsWith(` ${unit}`) ? text.slice(0, -unit.length - 1) : text;
}

function whole(text, unit) {
  const given = text.trim().replace("−", "-");
  return unit && /^[-+]?[\d.]+(e[-+]?\d+)?$/i.test(given) ? `${given} ${unit}` : given;
}

function stands(one) {
  const places = list(one.supports).map((support) => support.place);
  return places.length ? `On blocks at: ${places.join(", ")}.` : one.afloat ? "Afloat." : "";
}

function handOut(text, name) {
  const address = URL.createObjectURL(new Blob([text], { type: "application/toml" }));
  element("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

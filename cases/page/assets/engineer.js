// The engineer's tab: a case or combination at a time, safety factors, a pinned baseline and what differs from it, every margin with
// its formula, how sure the numbers are, and tables as CSV.
import { element, Faults } from "./page.js";
import { checks } from "./checks.js";
import { csvButton, quantity, table } from "./tables.js";
import { readings } from "./readings.js";
import { scatter } from "./scatter.js";

const EVERY = ""; // the row that is all of them
const VIEWS = [["margins", "Margins"], ["scatter", "Scatter and sensitivity"], ["test", "Test on the boat"]];

export function mount(work, page) {
  const names = page.boat.joints.map((joint) => joint.name);
  const first = page.boat.joints.find((joint) => joint.candidate)?.name ?? names[0];
  const shown = () => (names.includes(page.state.joint) ? page.state.joint : first);
  const view = () => (VIEWS.some(([name]) => name === page.state.view) ? page.state.view : "margins");
  const pinned = () => {
    try {
      return page.state.pin === undefined ? null : JSON.parse(page.state.pin);
    } catch {
      return null;
    }
  };

  const status = element("p", { role: "status", class: "status" });
  const faults = element("div", { role: "alert", class: "faults" });
  const joint = element("select", { id: "joint", onchange: () => page.put({ joint: joint.value, row: null }) }, ...names.map((name) => element("option", { value: name }, name)));
  const row = element("select", { id: "row", onchange: () => page.put({ row: row.value }) });
  const pin = element("button", { type: "button", onclick: () => page.put({ pin: pinned() ? null : JSON.stringify(page.changes) }) });
  const undo = element("button", { type: "button", onclick: () => page.undo() }, "Undo");
  const views = element("div", { class: "choice", role: "group", "aria-label": "View" }, ...VIEWS.map(([name, title]) =>
    element("button", { type: "button", "data-view": name, onclick: () => page.put({ view: name === "margins" ? null : name }) }, title)));
  const factors = element("details", { class: "group factors" }, element("summary", {}, "Safety factors"));
  const body = element("div");
  work.append(
    element("div", { class: "tools" }, element("label", { for: "joint" }, "Joint"), joint, element("span", { class: "tools" }, element("label", { for: "row" }, "Case or combination"), row), pin, undo),
    factors, views, status, faults, body);

  const inTest = readings(page, shown, { status, faults, failed });
  function failed(trouble) {
    const wrong = trouble instanceof Faults ? trouble.faults : [{ words: `${trouble.message}. Is forebeam still running?` }];
    faults.replaceChildren(element("ul", {}, ...wrong.map((one) => element("li", {}, one.words))));
  }
  let round = 0;
  let controller = null;
  async function follow() {
    const now = ++round;
    controller?.abort();
    controller = new AbortController();
    const { signal } = controller;
    joint.value = shown();
    pin.textContent = pinned() ? "Unpin the baseline" : "Pin this as the baseline";
    row.parentElement.hidden = view() !== "margins";
    pin.hidden = view() === "test";
    undo.disabled = !page.undone[page.undoing].length;
    for (const button of views.children) button.setAttribute("aria-pressed", String(button.dataset.view === view()));
    if (view() === "test") {
      inTest.follow();
      if (!body.contains(inTest.place)) {
        body.replaceChildren(inTest.place);
        faults.replaceChildren();
        status.textContent = "";
      }
      work.removeAttribute("aria-busy");
      return;
    }
    work.setAttribute("aria-busy", "true");
    status.textContent = view() === "scatter" ? "computing: some seconds …" : "computing …";
    const ask = (path, message) => page.ask(path, { joint: shown(), depth: "whole", ...message }, signal);
    const begun = performance.now();
    try {
      const content = view() === "scatter"
        ? scatter(await answered(ask("engineer/scatter", { changes: page.changes })))
        : await margins(ask);
      if (now !== round) return;
      body.replaceChildren(...content);
      faults.replaceChildren();
      const changed = Object.keys(page.changes).length;
      status.textContent = `${changed ? `${changed} change${changed > 1 ? "s" : ""} of the file` : "As in the file"}; ${((performance.now() - begun) / 1000).toFixed(2)} s.`;
    } catch (trouble) {
      if (signal.aborted || now !== round) return;
      failed(trouble);
      status.textContent = body.children.length ? "The last good answer is shown." : "No answer.";
    }
    work.removeAttribute("aria-busy");
  }

  async function margins(ask) {
    const answer = await answered(ask("builder/answer", { changes: page.changes }));
    const rows = answer.cases.map((one) => one.name);
    const chosen = rows.includes(page.state.row) ? page.state.row : EVERY;
    row.replaceChildren(element("option", { value: EVERY }, "all: the worst of each check"), ...rows.map((name) => element("option", { value: name }, name)));
    row.value = chosen;
    const before = pinned();
    const one = async (changes) => (chosen === EVERY
      ? ask("builder/answer", { changes })
      : ask("engineer/row", { changes, row: chosen }));
    const now = chosen === EVERY ? answer : await answered(one(page.changes));
    const base = before && await answered(one(before));
    const loads = loadsTable(now, base, chosen);
    return [loads, checks(now.margins, base?.margins, `${page.boat.name}-${shown()}`)];
  }

  function loadsTable(now, base, chosen) {
    const titles = chosen === EVERY
      ? ["component", "design load", "worst in", "hull"] : ["component", "port", "starboard"];
    const unit = (component) => (/bending|torque/.test(component) ? "N·m" : "N");
    const cells = (found) => found.loads.map((load) => (chosen === EVERY
      ? [load.component, [load.size, unit(load.component)], load.row, load.side]
      : [load.component, [load.port, unit(load.component)], [load.starboard, unit(load.component)]]));
    const rows = cells(now);
    if (base) {
      titles.push("baseline");
      cells(base).forEach((of, number) => rows[number].push(of[1]));
    }
    const words = chosen === EVERY ? `${now.words}. Racking stiffness ${now.gained[1]}.` : `${now.method}; residual ${quantity(now.balance, "")}, error ${quantity(now.error, "")}.`;
    return element("section", { "aria-label": "Joint loads" }, element("h2", {}, "Joint loads"), element("p", { class: "aside" }, words), table(titles, rows, "Joint loads"),
      csvButton("Joint loads as CSV", `${page.boat.name}-${shown()}-loads.csv`, titles, rows));
  }

  async function fill() {
    const list = await page.ask("engineer/factors");
    factors.append(...list.map(({ key, value, words }) => {
      const id = key.replace(".", "-");
      const number = typeof value === "number";
      const input = element("input", {
        id, type: number ? "number" : "text", step: "0.05", value: page.changes[key] ?? value,
        onchange: () => {
          const given = number ? Number(input.value) : input.value;
          page.change({ [key]: given === value ? undefined : given });
        },
      });
      page.listeners.add(input.follow = () => { if (document.activeElement !== input) input.value = page.changes[key] ?? value; });
      return element("div", { class: "field" }, element("label", { for: id }, `${key.slice(8).replaceAll("_", " ")}: ${words ?? ""}`), input);
    }));
  }
  fill();
  page.listeners.add(follow);
  follow();
  return () => {
    controller?.abort();
    page.listeners.delete(follow);
    for (const input of factors.querySelectorAll("input")) page.listeners.delete(input.follow);
  };
}

async function answered(promise) {
  const found = await promise;
  if (found === null) throw new Error("a newer question has come");
  return found;
}

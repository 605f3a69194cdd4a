// The builder's tab: fields by part of the boat, and card, pictures and margins of one joint, which follow.
import { element, Faults } from "./page.js";
import { fields } from "./fields.js";
import { answers } from "./answers.js";
import { card, marginTable } from "./card.js";
import { attractionCurve, beamShape, jointLoads, sideView } from "./pictures.js";
import { model } from "./model.js";
import { reportButton } from "./report.js";

const SHOWN_MARGINS = 12;

export function mount(work, page) {
  const candidates = page.boat.joints.filter((joint) => joint.candidate).map((joint) => joint.name);
  const names = page.boat.joints.map((joint) => joint.name);
  const shown = () => (names.includes(page.state.joint) ? page.state.joint : candidates[0]);
  const beside = () => candidates.filter((name) => name !== shown());

  const status = element("p", { role: "status", class: "status" });
  const faults = element("div", { role: "alert", class: "faults" });
  const choice = element("div", { class: "choice", role: "group", "aria-label": "Joint" });
  const top = element("section", { class: "answer", "aria-label": "Answer" });
  const pictures = element("section", { class: "pictures", "aria-label": "Pictures" });
  const margins = element("section", { class: "margins", "aria-label": "Margins" });
  const controls = element("section", { class: "controls", "aria-label": "Boat" });
  const undo = element("button", { type: "button", onclick: () => page.undo() }, "Undo");
  const reset = element("button", { type: "button", onclick: () => page.change(Object.fromEntries(Object.keys(page.changes).map((key) => [key, undefined]))) }, "As in the file");
  const save = element("button", { type: "button", onclick: saved }, "Save a copy of the boat file");
  const tools = element("div", { class: "tools" }, undo, reset, save, reportButton(page));
  work.append(choice, element("div", { class: "bench" },
    element("div", { class: "left" }, tools, controls),
    element("div", { class: "right" }, status, faults, top, pictures, margins)));

  const turned = model(page, shown);
  margins.after(turned.place);
  let taken = 0; // s, for the answer that is shown
  const found = new Map(); // joint → its last good answer
  const inFields = fields(controls, page, shown);
  const asked = answers(page, {
    computing(depth) {
      status.textContent = depth === "whole" ? "computing every case and combination …" : "computing …";
      work.setAttribute("aria-busy", "true");
    },
    answered(joint, answer, seconds) {
      found.set(joint, answer);
      faults.replaceChildren();
      inFields.mark([]);
      if (joint === shown()) taken = seconds;
      draw();
    },
    finished() {
      work.removeAttribute("aria-busy");
      const answer = found.get(shown());
      if (answer) status.textContent = stated(answer, taken);
      turned.follow();
    },
    lost(joint) {
      if (found.has(joint)) found.get(joint).stale = true;
      draw();
    },
    failed(trouble) {
      work.removeAttribute("aria-busy");
      const wrong = trouble instanceof Faults ? trouble.faults : [{ place: "", words: `${trouble.message}. Is forebeam still running?` }];
      faults.replaceChildren(element("ul", {}, ...wrong.map((one) => element("li", {}, one.words))));
      inFields.mark(wrong);
      status.textContent = found.size ? "The last good answer is shown." : "No answer.";
    },
  });

  function stated(answer, seconds) {
    const of = answer.left_out.length ? `Without ${answer.left_out.join(", ")}` : "Every case and combination";
    return `${of}; ${seconds.toFixed(2)} s.`;
  }

  function choose() {
    choice.replaceChildren(...page.boat.joints.map((joint) => element("button", {
      type: "button", title: joint.note || joint.words, "aria-pressed": String(joint.name === shown()),
      onclick: () => page.put({ joint: joint.name }),
    }, joint.name)));
  }

  function draw() {
    const answer = found.get(shown()), every = [answer, ...beside().map((name) => found.get(name))].filter(Boolean);
    if (every.length) top.replaceChildren(card(every));
    if (!answer) return;
    sideView(part("side"), answer, page);
    jointLoads(part("loads"), answer);
    attractionCurve(part("curve"), answer);
    beamShape(part("shape"), answer);
    margins.replaceChildren(element("h2", {}, "Margins"), marginTable(answer.margins.slice(0, SHOWN_MARGINS)),
      element("p", { class: "aside" }, `The lowest ${Math.min(SHOWN_MARGINS, answer.margins.length)} of ${answer.margins.length} checks; all are under Engineer.`));
  }

  // A picture's place stays, so that what is dragged in it stays too.
  function part(name) {
    let place = pictures.querySelector(`[data-picture=${name}]`);
    if (!place) pictures.append(place = element("figure", { "data-picture": name }));
    return place;
  }

  async function saved() {
    try {
      const text = await page.ask("builder/text", { changes: page.changes }, undefined, "text");
      const address = URL.createObjectURL(new Blob([text], { type: "application/toml" }));
      element("a", { href: address, download: `my-${page.boat.name}` }).click();
      setTimeout(() => URL.revokeObjectURL(address), 10_000);
    } catch (trouble) {
      faults.replaceChildren(element("p", {}, trouble.message));
    }
  }

  let before = "";
  function follow() {
    undo.disabled = !page.undone[page.undoing].length;
    reset.disabled = !Object.keys(page.changes).length;
    const now = JSON.stringify([page.changes, shown()]);
    if (now === before) return;
    before = now;
    choose();
    inFields.follow();
    draw();
    asked.ask([shown(), ...beside()]);
  }
  page.listeners.add(follow);
  follow();
  return () => {
    page.listeners.delete(follow);
    asked.stop();
    turned.end();
  };
}

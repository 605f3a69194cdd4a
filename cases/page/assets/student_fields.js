// What can be changed of a textbook case: all lengths and loads, what acts, materials, nodes, supports; of every beam its number of
// elements and what each of its ends holds, releases or holds by a spring.
import { element } from "./page.js";
import { fieldRow, group, markFaults } from "./fields.js";

const ENDS = { from: "start", to: "end" };
const FREEDOMS = { ry: "rotation about y", rz: "rotation about z", rx: "rotation about x (twist)", ux: "movement along x", uy: "movement along y", uz: "movement along z" };

export function studentFields(place, page) {
  const made = new Map(); // key → field
  const following = []; // of the beams' ends
  let load = null, shown = null;
  const acting = element("div");

  const now = (key, otherwise) => (key in page.edits ? page.edits[key] : otherwise);
  const set = (values, gesture = null) => page.change(values, gesture, "edits");

  function row(field, words) {
    const found = fieldRow(field, words, {
      now: () => now(field.key, field.value),
      set: (value, gesture = null) => set({ [field.key]: JSON.stringify(value) === JSON.stringify(field.value) ? undefined : value }, gesture),
      end: () => { page.gesture = null; },
      changed: () => field.key in page.edits,
    });
    made.set(field.key, found);
    return found.holder;
  }
  const named = (field) => row(field, field.words);

  function beam(one) {
    const elements = row({ key: `${one.key}.divide`, value: one.divide }, "number of elements");
    const ends = Object.entries(ENDS).map(([end, words]) => element("fieldset", {}, element("legend", {}, `at its ${words}`),
      ...Object.entries(FREEDOMS).map(([freedom, of]) => held(one, end, freedom, of))));
    return element("details", { class: "more beam" }, element("summary", {}, one.name), elements, ...ends);
  }

  // A beam's end in one direction, beam axes: rigid, released, or a spring.
  function held(one, end, freedom, words) {
    const release = `${one.key}.${end}_release`, spring = `${one.key}.${end}_spring.${freedom}`;
    const given = one.ends[end];
    const id = `held-${release}-${freedom}`.replace(/[^a-z0-9]+/gi, "-");
    const released = () => now(release, given.release);
    const stiffness = () => now(spring, given.spring[freedom]) ?? undefined;
    const choice = element("select", { id, onchange: choose },
      ...["rigid", "released", "spring"].map((kind) => element("option", { value: kind }, kind)));
    const input = element("input", {
      type: "text", "aria-label": `${one.name}, ${ENDS[end]}: ${words}, spring`, autocomplete: "off", spellcheck: "false", onchange: () => set(values("spring", input.value)),
    });
    const error = element("span", { class: "error" });
    const holder = element("div", { class: "field held" }, element("label", { for: id }, words), choice, input, error);
    made.set(spring, { input, error, holder });

    function values(kind, text) {
      const others = released().filter((other) => other !== freedom);
      const list = kind === "released" ? [...others, freedom] : others;
      const same = [...list].sort().join() === [...given.release].sort().join();
      const wanted = kind === "spring" ? text : undefined, filed = given.spring[freedom];
      return { [release]: same ? undefined : list, [spring]: wanted === filed ? undefined : wanted ?? null };
    }
    function choose() {
      const found = values(choice.value, stiffness() ?? one.as_stiff[freedom]);
      set(found);
    }
    function follow() {
      const kind = released().includes(freedom) ? "released" : stiffness() === undefined ? "rigid" : "spring";
      choice.value = kind;
      input.hidden = kind !== "spring";
      if (document.activeElement !== input) input.value = stiffness() ?? "";
      const was = given.release.includes(freedom) ? "released" : given.spring[freedom] ?? "rigid";
      holder.classList.toggle("changed", was !== (kind === "spring" ? stiffness() : kind));
    }
    following.push(follow);
    follow();
    return holder;
  }

  function follow() {
    if (load !== shown.load && shown.load !== undefined) {
      for (const { key } of shown.found.loads.find((one) => one.name === load)?.fields ?? []) made.delete(key);
      load = shown.load;
      const list = shown.found.loads.find((one) => one.name === load).fields;
      acting.replaceChildren(list.length ? group("Loads of this case", list, true, named) : "");
    }
    for (const one of made.values()) one.follow?.();
    for (const one of following) one();
  }

  return {
    // Make the fields of a case anew.
    describe(found) {
      made.clear();
      following.length = 0;
      load = null;
      shown = { found };
      acting.replaceChildren();
      place.replaceChildren(
        element("details", { open: true, class: "group" }, element("summary", {}, "Whole frame"), ...found.factors.map((field) => row(field, `${field.key}, times`))),
        acting,
        ...found.groups.map((one, number) => group(one.title, one.fields, number === 0, named)),
        found.beams.length ? element("details", { class: "group" }, element("summary", {}, "Elements, releases and springs of each beam"), ...found.beams.map(beam)) : "");
    },
    follow(name) {
      if (!shown) return;
      shown.load = name ?? shown.load;
      follow();
    },
    mark: (faults) => markFaults(made, Object.keys(page.edits), faults),
  };
}

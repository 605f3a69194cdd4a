// Fields of the boat file: a text with its unit and a slider for a quantity, lines for a list, a tick for true and false.
import { element } from "./page.js";

// A field: its value by `now()`, given back by `set(value, gesture)`; `end()` ends a gesture, which is undone at once.
export function fieldRow(field, words, { now, set, end, changed }) {
  const id = `field-${field.key.replace(/[^a-z0-9]+/gi, "-")}`;
  const kind = typeof field.value;
  const label = element("label", { for: id, title: field.key }, words);
  const error = element("span", { class: "error", id: `${id}-error` });
  let input, slider = null;
  if (kind === "boolean") {
    input = element("input", { type: "checkbox", id, onchange: () => set(input.checked) });
  } else if (Array.isArray(field.value)) {
    const plain = field.value.every((one) => typeof one === "string");
    input = element("textarea", {
      id, rows: Math.min(8, field.value.length + 1), spellcheck: "false", onchange: () => {
        const lines = input.value.split("\n").map((line) => line.trim()).filter(Boolean);
        set(plain ? lines : lines.map((line) => (Number.isFinite(Number(line)) ? Number(line) : line)));
      },
    });
  } else {
    input = element("input", {
      id, type: kind === "number" ? "number" : "text", step: "any", autocomplete: "off", spellcheck: "false",
      "aria-describedby": error.id, onchange: () => set(kind === "number" ? Number(input.value) : input.value),
    });
    if (field.pattern || field.range) {
      const size = Math.abs(field.number) || 1;
      const step = field.range ? 0.05 : 10 ** Math.floor(Math.log10(size)) / 20;
      const [low, high] = field.range ?? (field.number === 0 ? [-size, size] : [field.number - 0.6 * size, field.number + 0.6 * size]);
      slider = element("input", {
        type: "range", min: plainNumber(Math.floor(low / step + 1e-9) * step), max: plainNumber(Math.ceil(high / step - 1e-9) * step), step: plainNumber(step),
        "aria-label": field.unit ? `${words}, ${field.unit}` : words,
        oninput: () => {
          const moved = plainNumber(Number(slider.value));
          input.value = field.range ? moved : field.pattern.replace("{}", moved);
          set(field.range ? Number(moved) : input.value, field.key);
        },
        onchange: end,
      });
    }
  }
  const holder = element("div", { class: "field" }, label, input, slider, error);
  const follow = () => {
    const value = now();
    if (kind === "boolean") input.checked = value;
    else if (document.activeElement !== input || document.activeElement === slider) {
      input.value = Array.isArray(value) ? value.join("\n") : value ?? "";
    }
    const at = slider && document.activeElement !== slider ? (field.range ? Number(value) : numberIn(field.pattern, value)) : null;
    if (at !== null) slider.value = at;
    holder.classList.toggle("changed", changed());
  };
  follow();
  return { input, follow, error, holder };
}

// The number that stands where the pattern has "{}"; null where the text is of another form.
function numberIn(pattern, text) {
  const [before, after] = pattern.split("{}").map((part) => part.trim().split(/\s+/).filter(Boolean));
  const parts = typeof text === "string" ? text.trim().split(/\s+/) : [];
  const same = parts.length === before.length + 1 + after.length && before.every((one, i) => one === parts[i]) && after.every((one, i) => one === parts[before.length + 1 + i]);
  return same && Number.isFinite(Number(parts[before.length])) ? Number(parts[before.length]) : null;
}

// Fields of a part of a file: the main ones, and the others behind “more”.
export function group(title, list, open, row) {
  const main = list.filter((field) => field.main);
  const first = main.length ? main : list.slice(0, 6);
  const rest = list.filter((field) => !first.includes(field));
  return element("details", { open, class: "group" }, element("summary", {}, title),
    ...first.map(row),
    rest.length ? element("details", { class: "more" }, element("summary", {}, `${rest.length} more`), ...rest.map(row)) : null);
}

// Show faults beside the fields that they are of: `made`, key → field; `keys`, those that were changed.
export function markFaults(made, keys, faults) {
  for (const { input, error } of made.values()) {
    input.removeAttribute("aria-invalid");
    error.textContent = "";
  }
  for (const { place: at, words } of faults) {
    const steps = at.replace(/[^a-z0-9]+/gi, "");
    const key = keys.find((one) => one.replace(/[^a-z0-9]+/gi, "") === steps)
      ?? keys.filter((one) => steps && steps.endsWith(one.split(".").at(-1))).at(-1);
    const field = made.get(key);
    if (!field) continue;
    field.input.setAttribute("aria-invalid", "true");
    field.error.textContent = words;
    for (let above = field.holder.closest("details"); above; above = above.parentElement.closest("details")) above.open = true;
  }
}

export function fields(place, page, shown) {
  const made = new Map(); // key → {input, follow, error, holder}
  let ofJoint = null;

  function row(field) {
    const found = fieldRow(field, steps(field.key).slice(field.key.startsWith("joints.") ? 2 : 1).join(" · ").replaceAll("_", " "), {
      now: () => (field.key in page.changes ? page.changes[field.key] : field.value),
      set: (value, gesture = null) => page.change({ [field.key]: JSON.stringify(value) === JSON.stringify(field.value) ? undefined : value }, gesture),
      end: () => { page.gesture = null; },
      changed: () => field.key in page.changes,
    });
    made.set(field.key, found);
    return found.holder;
  }

  const joint = element("div");
  place.append(joint, ...page.boat.groups.map((one, number) => group(one.title, one.fields, number < 3, row)));

  return {
    follow() {
      if (ofJoint !== shown()) {
        for (const { key } of page.boat.joint_fields[ofJoint] ?? []) made.delete(key);
        ofJoint = shown();
        const list = page.boat.joint_fields[ofJoint] ?? [];
        joint.replaceChildren(list.length ? group(`Joint: ${ofJoint}`, list, true, row) : "");
      }
      for (const one of made.values()) one.follow();
    },
    mark: (faults) => markFaults(made, Object.keys(page.changes), faults),
  };
}

// The parts of a dotted key, those in quotation marks whole.
function steps(key) {
  return [...key.matchAll(/"((?:[^"\\]|\\.)*)"|([^.]+)/g)].map(([, quoted, bare]) => quoted ?? bare);
}

export function plainNumber(value) {
  return String(Number(value.toPrecision(6)));
}

// Fields of the boat file: a text with its unit and a slider for a quantity, lines for a list, a tick for true and false.
import { element } from "./page.js";

const QUANTITY = /^\s*([-+]?[0-9.]+(?:e[-+]?[0-9]+)?)\s+([^\s0-9].*?)\s*$/i;

export function fields(place, page, shown) {
  const made = new Map(); // key → {input, follow}
  let ofJoint = null;

  function group(title, list, open) {
    const main = list.filter((field) => field.main);
    const first = main.length ? main : list.slice(0, 6);
    const rest = list.filter((field) => !first.includes(field));
    return element("details", { open, class: "group" }, element("summary", {}, title),
      ...first.map(row),
      rest.length ? element("details", { class: "more" }, element("summary", {}, `${rest.length} more`), ...rest.map(row)) : null);
  }

  function row(field) {
    const id = `field-${field.key.replace(/[^a-z0-9]+/gi, "-")}`;
    const now = () => (field.key in page.changes ? page.changes[field.key] : field.value);
    const set = (value, gesture = null) =>
      page.change({ [field.key]: JSON.stringify(value) === JSON.stringify(field.value) ? undefined : value }, gesture);
    const kind = typeof field.value;
    const words = steps(field.key).slice(field.key.startsWith("joints.") ? 2 : 1).join(" · ").replaceAll("_", " ");
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
      if (field.unit) {
        const size = Math.abs(field.number) || 1;
        const step = 10 ** Math.floor(Math.log10(size)) / 20;
        const [low, high] = field.number === 0 ? [-size, size] : [field.number - 0.6 * size, field.number + 0.6 * size];
        slider = element("input", {
          type: "range", min: plainNumber(Math.floor(low / step) * step), max: plainNumber(Math.ceil(high / step) * step), step: plainNumber(step),
          "aria-label": `${words}, ${field.unit}`,
          oninput: () => {
            input.value = `${plainNumber(Number(slider.value))} ${field.unit}`;
            set(input.value, field.key);
          },
          onchange: () => { page.gesture = null; },
        });
      }
    }
    const follow = () => {
      const value = now();
      if (kind === "boolean") input.checked = value;
      else if (document.activeElement !== input || document.activeElement === slider) {
        input.value = Array.isArray(value) ? value.join("\n") : value ?? "";
      }
      const found = typeof value === "string" ? QUANTITY.exec(value) : null;
      if (slider && found && found[2] === field.unit && document.activeElement !== slider) slider.value = found[1];
      holder.classList.toggle("changed", field.key in page.changes);
    };
    const holder = element("div", { class: "field" }, label, input, slider, error);
    made.set(field.key, { input, follow, error, holder });
    follow();
    return holder;
  }

  const joint = element("div");
  place.append(joint, ...page.boat.groups.map((one, number) => group(one.title, one.fields, number < 3)));

  return {
    follow() {
      if (ofJoint !== shown()) {
        for (const { key } of page.boat.joint_fields[ofJoint] ?? []) made.delete(key);
        ofJoint = shown();
        const list = page.boat.joint_fields[ofJoint] ?? [];
        joint.replaceChildren(list.length ? group(`Joint: ${ofJoint}`, list, true) : "");
      }
      for (const one of made.values()) one.follow();
    },
    // Show faults beside the fields that they are of.
    mark(faults) {
      for (const { input, error } of made.values()) {
        input.removeAttribute("aria-invalid");
        error.textContent = "";
      }
      for (const { place: at, words } of faults) {
        const steps = at.replace(/[^a-z0-9]+/gi, "");
        const key = Object.keys(page.changes).find((one) => one.replace(/[^a-z0-9]+/gi, "") === steps)
          ?? Object.keys(page.changes).filter((one) => steps && steps.endsWith(one.split(".").at(-1))).at(-1);
        const field = made.get(key);
        if (!field) continue;
        field.input.setAttribute("aria-invalid", "true");
        field.error.textContent = words;
        for (let above = field.holder.closest("details"); above; above = above.parentElement.closest("details")) above.open = true;
      }
    },
  };
}

// The parts of a dotted key, those in quotation marks whole.
function steps(key) {
  return [...key.matchAll(/"((?:[^"\\]|\\.)*)"|([^.]+)/g)].map(([, quoted, bare]) => quoted ?? bare);
}

export function plainNumber(value) {
  return String(Number(value.toPrecision(6)));
}

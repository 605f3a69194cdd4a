// The boat to turn: hulls, tubes, loads and reactions of one solved case, moved by its displacements.
import {
  AmbientLight, ArrowHelper, BufferAttribute, BufferGeometry, Color, ColorManagement, DirectionalLight, DoubleSide, Group,
  LinearSRGBColorSpace, Mesh, MeshLambertMaterial, PerspectiveCamera, Scene, Vector3, WebGLRenderer,
} from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";
import { html, three } from "./live_joint.js";

ColorManagement.enabled = false;  // colours are mixed as they are written, in sRGB

const SIDES = 16, MOST_PIXELS = 30, ROPE_RADIUS = 0.0015, SIGNED = ["#2f4579", "#e9e4d4", "#9a3b3f"], USED = ["#b9d8bd", "#d99b2b", "#8c2331"];
const COLOUR_BY = [
  ["N", "axial force", "kN", 0], ["T", "torque", "kN·m", 1], ["M", "bending moment", "kN·m", 2], ["used", "utilisation", "", null],
];

function mixed(scale, at) {
  const place = Math.min(1, Math.max(0, at)) * (scale.length - 1), low = Math.min(Math.floor(place), scale.length - 2);
  return new Color(scale[low]).lerp(new Color(scale[low + 1]), place - low);
}

// A tube along points: rings of SIDES corners; the ring of a face says where on the member it is.
function tubeGeometry(count) {
  const geometry = new BufferGeometry(), faces = [];
  for (let ring = 0; ring + 1 < count; ring += 1) {
    for (let side = 0; side < SIDES; side += 1) {
      const a = ring * SIDES + side, b = ring * SIDES + ((side + 1) % SIDES);
      faces.push(a, b, a + SIDES, b, b + SIDES, a + SIDES);
    }
  }
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(count * SIDES * 3), 3));
  geometry.setAttribute("color", new BufferAttribute(new Float32Array(count * SIDES * 3), 3));
  geometry.setIndex(faces);
  return geometry;
}

function placeTube(geometry, points, radius) {
  const position = geometry.attributes.position;
  points.forEach((point, ring) => {
    const along = new Vector3().subVectors(points[Math.min(ring + 1, points.length - 1)], points[Math.max(ring - 1, 0)]).normalize();
    const across = new Vector3(Math.abs(along.z) < 0.9 ? 0 : 1, 0, Math.abs(along.z) < 0.9 ? 1 : 0).cross(along).normalize();
    const third = new Vector3().crossVectors(along, across);
    for (let side = 0; side < SIDES; side += 1) {
      const turn = (2 * Math.PI * side) / SIDES;
      const at = point.clone().addScaledVector(across, radius * Math.cos(turn)).addScaledVector(third, radius * Math.sin(turn));
      position.setXYZ(ring * SIDES + side, at.x, at.y, at.z);
    }
  });
  position.needsUpdate = true;
  geometry.computeVertexNormals();
  geometry.computeBoundingSphere();
}

function hullGeometry(rings) {
  const geometry = new BufferGeometry(), corners = rings[0].length, faces = [];
  for (let ring = 0; ring + 1 < rings.length; ring += 1) {
    for (let corner = 0; corner < corners; corner += 1) {
      const a = ring * corners + corner, b = ring * corners + ((corner + 1) % corners);
      faces.push(a, b, a + corners, b, b + corners, a + corners);
    }
  }
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(rings.length * corners * 3), 3));
  geometry.setIndex(faces);
  return geometry;
}

/** The boat in `element`, of the data of cases/report/pages/scene.py; null where the browser draws no 3D. */
export function mountScene(element, data) {
  const canvas = html("canvas", { tabindex: 0, role: "img", "aria-label": data.words });
  let renderer;
  try {
    renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
  } catch {
    return null;
  }
  renderer.outputColorSpace = LinearSRGBColorSpace;
  const joint = html("select"), load = html("select"), colour = html("select");
  data.joints.forEach((one, at) => joint.append(html("option", { value: at }, one.name)));
  data.cases.forEach((one, at) => load.append(html("option", { value: at }, one.name)));
  COLOUR_BY.forEach(([key, title]) => colour.append(html("option", { value: key }, title)));
  load.value = data.mainCase;
  colour.value = "T";
  const scale = html("input", { type: "range", min: 0, max: 100, value: 50 }), scaleWords = html("output");
  const key = html("div", { class: "colour-key", "aria-live": "polite" });
  const picked = html("p", { class: "picked", role: "status" }, "Click a part for its numbers. Drag or use the arrow keys to turn the boat, + and − to come nearer.");
  const controls = html("div", { class: "controls" },
    html("label", {}, "Joint ", joint), html("label", {}, "Case ", load), html("label", {}, "Colour ", colour),
    html("label", { class: "slider" }, "Movements enlarged ", scaleWords, scale));
  element.replaceChildren(controls, canvas, key, picked);

  const scene = new Scene(), camera = new PerspectiveCamera(32, 1.8, 0.05, 400), orbit = new OrbitControls(camera, canvas);
  camera.up.set(0, 0, 1);
  scene.add(new AmbientLight("#ffffff", 1.9));
  const sun = new DirectionalLight("#ffffff", 1.6);
  sun.position.set(4, -3, 9);
  scene.add(sun);
  const everyPoint = data.members.flatMap((one) => one.points).concat(data.hulls.flatMap((one) => one.rings.flat()));
  const low = [0, 1, 2].map((axis) => Math.min(...everyPoint.map((one) => one[axis])));
  const high = [0, 1, 2].map((axis) => Math.max(...everyPoint.map((one) => one[axis])));
  const middle = new Vector3(...low.map((one, axis) => (one + high[axis]) / 2)), size = Math.hypot(...low.map((one, axis) => high[axis] - one));
  orbit.target.copy(middle);
  camera.position.copy(middle).add(new Vector3(0.75, -0.75, 0.5).multiplyScalar(size * 1.2));
  orbit.enablePan = false;
  orbit.minDistance = size * 0.25;
  orbit.maxDistance = size * 4;

  const members = data.members.map((one, number) => {
    const mesh = new Mesh(tubeGeometry(one.points.length), new MeshLambertMaterial({ vertexColors: true, side: DoubleSide }));
    mesh.userData.member = number;
    scene.add(mesh);
    return mesh;
  });
  const hulls = data.hulls.map((one) => {
    const mesh = new Mesh(hullGeometry(one.rings), new MeshLambertMaterial({ color: "#c9d0d6", transparent: true, opacity: 0.45, side: DoubleSide, depthWrite: false }));
    scene.add(mesh);
    return mesh;
  });
  const ropes = data.ropes.map((one) => {
    const mesh = new Mesh(tubeGeometry(one.points.length), new MeshLambertMaterial({ vertexColors: true, side: DoubleSide }));
    scene.add(mesh);
    return mesh;
  });
  const arrows = new Group();
  scene.add(arrows);

  const state = () => data.joints[Number(joint.value)].cases[Number(load.value)];
  const moved = (point, by, enlarged) => new Vector3(point[0] + enlarged * by[0], point[1] + enlarged * by[1], point[2] + enlarged * by[2]);
  const enlargement = () => {
    const most = Math.max(1e-12, ...state().movements.flat().map((one) => Math.hypot(...one.slice(0, 3))));
    return (Number(scale.value) / 50) ** 2 * ((0.06 * size) / most);
  };
  // the scale is that of crossbeam, longeron and striker: hulls carry more, and are as dark as it gets
  function largestAction(now, part) {
    const beams = now.actions.filter((_, number) => data.members[number].beam);
    return Math.max(1e-9, ...(beams.length ? beams : now.actions).flat().map((one) => Math.abs(one[part])));
  }
  function arrow(at, force, colourOf, largest) {
    const length = (0.22 * size * Math.hypot(...force)) / largest;
    if (length < 0.004 * size) return false;
    const way = new Vector3(...force).normalize();
    arrows.add(new ArrowHelper(way, at.clone().addScaledVector(way, -length), length, colourOf, Math.min(0.35 * length, 0.03 * size), 0.018 * size));
    return true;
  }
  function show() {
    const now = state(), enlarged = enlargement(), by = COLOUR_BY.find(([name]) => name === colour.value);
    scaleWords.textContent = `× ${three(enlarged)}`;
    const used = data.joints[Number(joint.value)].utilisation;
    const largest = by[3] === null ? 1 : largestAction(now, by[3]);
    members.forEach((mesh, number) => {
      const one = data.members[number];
      placeTube(mesh.geometry, one.points.map((point, at) => moved(point, now.movements[number][at], enlarged)), one.radius);
      const tint = mesh.geometry.attributes.color;
      one.points.forEach((_, ring) => {
        const value = by[3] === null ? used[number] : now.actions[number][ring][by[3]];
        const mix = value === null ? new Color("#c9d0d6") : by[3] === null ? mixed(USED, value) : mixed(SIGNED, 0.5 + value / largest / 2);
        for (let side = 0; side < SIDES; side += 1) tint.setXYZ(ring * SIDES + side, mix.r, mix.g, mix.b);
      });
      tint.needsUpdate = true;
    });
    ropes.forEach((mesh, number) => {
      const one = data.ropes[number], { movements, tension } = now.ropes[number];
      placeTube(mesh.geometry, one.points.map((point, at) => moved(point, movements[at], enlarged)), ROPE_RADIUS * size);
      const tint = mesh.geometry.attributes.color, mix = by[0] === "N" && tension !== null ? mixed(SIGNED, 0.5 + tension / largest / 2) : new Color("#454b52");
      for (let at = 0; at < tint.count; at += 1) tint.setXYZ(at, mix.r, mix.g, mix.b);
      tint.needsUpdate = true;
    });
    hulls.forEach((mesh, number) => {
      const one = data.hulls[number], position = mesh.geometry.attributes.position;
      one.rings.forEach((ring, at) => {
        const [ux, uy, uz, rx, ry, rz] = now.rings[number][at], centre = one.axis[at];
        ring.forEach((point, corner) => {
          const [x, y, z] = point.map((value, axis) => value - centre[axis]);
          position.setXYZ(at * ring.length + corner, point[0] + enlarged * (ux + ry * z - rz * y), point[1] + enlarged * (uy + rz * x - rx * z), point[2] + enlarged * (uz + rx * y - ry * x));
        });
      });
      position.needsUpdate = true;
      mesh.geometry.computeVertexNormals();
    });
    arrows.clear();
    const acting = data.cases[Number(load.value)].loads, most = Math.max(1e-9, ...[...acting, ...now.reactions, ...now.onHulls].map((one) => Math.hypot(...one.force)));
    const drawn = (list, tint, by = () => [0, 0, 0]) => list.filter((one, at) => arrow(moved(one.at, by(one, at), enlarged), one.force, tint, most)).length > 0;
    const named = [
      ["load", "loads", drawn(acting, "#d2972e", (_, at) => now.loadsMoved[at])], ["reaction", "reactions", drawn(now.reactions, "#1b7171")],
      ["on-hull", "beam on hulls", drawn(now.onHulls, "#8a4f7d", (one) => one.by)],
    ].filter((one) => one[2]);
    element.dataset.arrows = named.map((one) => one[0]).join(" ");
    const scaleOf = by[3] === null ? USED : SIGNED, unit = by[2] ? ` ${by[2]}` : "";
    const ends = by[3] === null ? ["0", "1 and more"] : [`≤ ${three(-largest / 1e3)}${unit}`, `≥ ${three(largest / 1e3)}${unit}`];
    key.replaceChildren(`${by[1]} `, ends[0], html("i"), ends[1], ...named.flatMap(([kind, title]) => [" · ", html("b", { class: kind }), ` ${title}`]));
    key.querySelector("i").style.background = `linear-gradient(to right, ${scaleOf.join(", ")})`;
    draw();
  }
  function draw() {
    renderer.render(scene, camera);
  }
  // the end of an element that is nearest on the screen: a finger hits no tube of a few pixels
  function pick(x, y) {
    const box = canvas.getBoundingClientRect(), now = state(), enlarged = enlargement();
    let nearest = [MOST_PIXELS, null];
    const look = (at, say) => {
      const seen = at.project(camera);
      const away = Math.hypot(box.left + ((seen.x + 1) / 2) * box.width - x, box.top + ((1 - seen.y) / 2) * box.height - y);
      if (away < nearest[0]) nearest = [away, say];
    };
    data.members.forEach((one, number) => one.points.forEach((point, ring) => look(moved(point, now.movements[number][ring], enlarged), () => tell(number, ring))));
    data.ropes.forEach((one, number) => one.points.slice(1).forEach((point, at) => {
      const { movements } = now.ropes[number], ends = [moved(one.points[at], movements[at], enlarged), moved(point, movements[at + 1], enlarged)];
      look(ends[0].lerp(ends[1], 0.5), () => tellRope(number));
    }));
    if (nearest[1]) nearest[1]();
  }
  function tellRope(number) {
    const { tension } = state().ropes[number], name = data.ropes[number].name;
    picked.textContent = tension === null ? `${name}: this case gives it no pull.` : `${name}: tension ${three(tension / 1e3)} kN.`;
    element.dataset.picked = JSON.stringify({ rope: name, tension });
  }
  function tell(number, ring) {
    const one = data.members[number], now = state(), [N, T, M] = now.actions[number][ring], used = data.joints[Number(joint.value)].utilisation[number];
    const way = Math.hypot(...now.movements[number][ring].slice(0, 3));
    picked.textContent = `${one.name}, ${three(one.station[ring])} m from its start: axial force ${three(N / 1e3)} kN, torque ${three(T / 1e3)} kN·m, bending moment ${three(M / 1e3)} kN·m, moved ${three(way * 1e3)} mm`
      + (used === null ? "." : `; highest utilisation of the ${one.name} over all cases ${used.toFixed(2)}.`);
    element.dataset.picked = JSON.stringify({ member: one.name, ring, N, T, M });
  }
  function fit() {
    const width = element.clientWidth, height = Math.round(Math.min(width * 0.62, 560));
    renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    renderer.setSize(width, height);
    camera.aspect = width / height;
    camera.updateProjectionMatrix();
    draw();
  }
  let down = null;
  canvas.addEventListener("pointerdown", (event) => { down = [event.clientX, event.clientY]; });
  canvas.addEventListener("pointerup", (event) => {
    if (down && Math.hypot(event.clientX - down[0], event.clientY - down[1]) < 5) pick(event.clientX, event.clientY);
    down = null;
  });
  canvas.addEventListener("keydown", (event) => {
    const turn = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[event.key];
    const nearer = { "+": 0.9, "=": 0.9, "-": 1.1, "−": 1.1 }[event.key];
    if (!turn && !nearer) return;
    event.preventDefault();
    const from = camera.position.clone().sub(orbit.target);
    if (turn) {
      const flat = Math.hypot(from.x, from.y), length = from.length();
      const round = Math.atan2(from.y, from.x) + turn[0], rise = Math.min(1.5, Math.max(-1.5, Math.atan2(from.z, flat) + turn[1]));
      from.set(length * Math.cos(rise) * Math.cos(round), length * Math.cos(rise) * Math.sin(round), length * Math.sin(rise));
    } else {
      from.multiplyScalar(nearer);
    }
    camera.position.copy(orbit.target).add(from);
    camera.lookAt(orbit.target);
    draw();
    element.dataset.camera = camera.position.toArray().map((one) => one.toFixed(3)).join(" ");
  });
  orbit.addEventListener("change", draw);
  [joint, load, colour].forEach((one) => one.addEventListener("change", show));
  scale.addEventListener("input", show);
  new ResizeObserver(fit).observe(element);
  camera.lookAt(orbit.target);
  fit();
  show();
  element.dataset.ready = "yes";
  return { show, tell, tellRope, replace: (given) => { Object.assign(data, given); show(); } };
}

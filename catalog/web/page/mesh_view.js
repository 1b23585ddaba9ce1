// SPDX-License-Identifier: Apache-2.0
// The hold in 3D as the climber sees it: turned on its bolt, on a wall that tilts.
import * as THREE from './lib/three.module.min.js';
import {h, s} from './dom.js';
import {length} from './format.js';
import {readGlb} from './glb.js';

const DEG = Math.PI / 180;

/** Blue over grey to orange for 0 to 1; lightness falls too, so that it reads without colour. */
function heat(share) {
  const t = Math.min(1, Math.max(0, share));
  const low = [0.93, 0.95, 0.97], middle = [0.35, 0.62, 0.85], high = [0.72, 0.24, 0.02];
  const [a, b, u] = t < 0.5 ? [low, middle, t * 2] : [middle, high, t * 2 - 1];
  return a.map((v, k) => (v + (b[k] - v) * u) ** 2.2);
}

/** What the heat maps show, with the words of their two ends. */
export const HEATS = {
  plain: {label: 'As it is'},
  slope: {label: 'Slope', low: 'faces you', high: 'looks back to the wall',
          share: (g, i) => Math.acos(Math.max(-1, Math.min(1, g.getAttribute('normal').getZ(i)))) / (150 * DEG)},
  guesswork: {label: 'Guesswork', low: 'seen by two photos or more', high: 'guessed',
              share: (g, i) => g.getAttribute('guesswork')?.array[i] ?? 0},
  // Full colour from 1 mm on: more than a lip can lose and still be the same lip (a judgement).
  value: {label: 'Wear', low: 'as it was', high: () => `${length({value: 1})} gone or more`,
          share: (g, i) => -(g.getAttribute('value')?.array[i] ?? 0)},
};

/** What the colours of a heat map mean, as a bar with words at its ends. */
export function heatLegend(name) {
  const {low, high} = HEATS[name], steps = 24;
  const hex = (share) => '#' + heat(share).map((v) => Math.round(255 * v ** (1 / 2.2)).toString(16).padStart(2, '0')).join('');
  return h('div', {class: 'heat'}, s('svg', {viewBox: `0 0 ${steps} 1`, preserveAspectRatio: 'none', 'aria-hidden': 'true'},
    Array.from({length: steps}, (_, i) => s('rect', {x: i, width: 1.02, height: 1, fill: hex(i / (steps - 1))}))),
    h('div', {class: 'heat-ends'}, h('span', {}, `pale: ${low}`), h('span', {}, `dark: ${typeof high === 'function' ? high() : high}`)));
}

export class MeshView {
  /** @param {HTMLCanvasElement} canvas
   *  @param name  What it shows, for people who do not see it; what its keys do is added.
   *  @param plain  Colour of a mesh that brings none.
   *  @throws where the browser has no WebGL. */
  constructor(canvas, name, plain = '#b9a58a') {
    this.plain = plain;
    this.canvas = canvas;
    this.renderer = new THREE.WebGLRenderer({canvas, antialias: true, alpha: true});
    this.renderer.setPixelRatio(Math.min(2, window.devicePixelRatio));
    this.scene = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(28, 1, 10, 5000);
    this.tilted = new THREE.Group();
    this.turned = new THREE.Group();
    this.tilted.add(this.turned);
    this.scene.add(this.tilted);
    this.yaw = 0;
    this.pitch = 12;
    this.zoom = 1;
    this.size = 120;
    this.#light();
    this.#wall();
    this.#followFingers();
    this.#followKeys(name);
    this.watch = new ResizeObserver(() => this.#resize());
    this.watch.observe(canvas);
    this.onpick = () => {};
    this.onlook = () => {};
  }

  /** Shows a GLB; the bytes as the server sends them. */
  show(buffer) {
    const geometry = readGlb(buffer);
    this.mesh?.geometry.dispose();
    if (this.mesh) this.turned.remove(this.mesh);
    this.ownColours = geometry.getAttribute('color');
    const material = new THREE.MeshStandardMaterial({
      roughness: 0.85, metalness: 0, vertexColors: Boolean(this.ownColours),
      color: this.ownColours ? 0xffffff : this.plain});
    this.mesh = new THREE.Mesh(geometry, material);
    this.turned.add(this.mesh);
    geometry.computeBoundingBox();
    const box = geometry.boundingBox;
    this.size = Math.max(40, Math.hypot(box.max.x, box.max.y), Math.hypot(box.min.x, box.min.y),
                         Math.hypot(box.max.x, box.min.y), Math.hypot(box.min.x, box.max.y));
    this.wall.scale.setScalar(this.size * 1.15);
    if (this.heat && this.heat !== 'plain') this.heatMap(this.heat);
    this.canvas.dataset.triangles = geometry.getIndex().count / 3;
    this.draw();
  }

  /** Looks from so far that a hold of this size fills the picture, whatever this one's size. */
  frame(size_mm) {
    this.size = size_mm;
    this.wall.scale.setScalar(size_mm * 1.15);
    this.draw();
  }

  turn(rotation_deg) {
    this.turned.rotation.z = rotation_deg * DEG;
    this.draw();
  }

  /** Degrees past vertical: the top of an overhanging wall comes towards the climber. */
  tilt(wall_deg) {
    this.tilted.rotation.x = wall_deg * DEG;
    this.draw();
  }

  /** Looks from another place, degrees to the right and above. */
  look(yaw, pitch, tell = true) {
    this.yaw = Math.max(-110, Math.min(110, yaw));
    this.pitch = Math.max(-80, Math.min(80, pitch));
    if (tell) this.onlook(this);
    this.draw();
  }

  /** Comes closer: 1 is the whole hold. */
  closer(zoom, tell = true) {
    this.zoom = Math.max(1, Math.min(6, zoom));
    if (tell) this.onlook(this);
    this.draw();
  }

  /** Looks as another view does. */
  follow({yaw, pitch, zoom}) {
    this.look(yaw, pitch, false);
    this.closer(zoom, false);
  }

  heatMap(name) {
    this.heat = name;
    if (!this.mesh) return;
    const geometry = this.mesh.geometry, {share} = HEATS[name];
    this.mesh.material.vertexColors = Boolean(share || this.ownColours);
    this.mesh.material.color.set(share || this.ownColours ? 0xffffff : this.plain);
    if (share) {
      const count = geometry.getAttribute('position').count, colours = new Float32Array(count * 3);
      for (let i = 0; i < count; ++i) colours.set(heat(share(geometry, i)), 3 * i);
      geometry.setAttribute('color', new THREE.BufferAttribute(colours, 3));
    } else if (this.ownColours) {
      geometry.setAttribute('color', this.ownColours);
    }
    this.mesh.material.needsUpdate = true;
    this.draw();
  }

  /** Draws a section on the hold: points (u, z) in mm at a sideways offset; none takes it away. */
  section(points, offset_mm) {
    if (this.line) this.tilted.remove(this.line);
    this.line = undefined;
    if (points?.length) {
      const path = points.map((p) => new THREE.Vector3(offset_mm, p.x ?? 0, (p.y ?? 0) + 0.4));
      const material = new THREE.LineBasicMaterial({color: 0xd4481c, depthTest: false});
      this.#keepLine(new THREE.Line(new THREE.BufferGeometry().setFromPoints(path), material));
    }
    this.draw();
  }

  /** The same from pieces [u0, z0, u1, z1] in any order. */
  cut(pieces, offset_mm) {
    const path = pieces.flatMap(([u0, z0, u1, z1]) =>
      [new THREE.Vector3(offset_mm, u0, z0 + 0.4), new THREE.Vector3(offset_mm, u1, z1 + 0.4)]);
    if (this.line) this.tilted.remove(this.line);
    const material = new THREE.LineBasicMaterial({color: 0xd4481c, depthTest: false});
    this.#keepLine(new THREE.LineSegments(new THREE.BufferGeometry().setFromPoints(path), material));
    this.draw();
  }

  #keepLine(line) {
    this.line = line;
    line.renderOrder = 2;
    this.tilted.add(line);
  }

  /** Draws once, at the next frame. */
  draw() {
    if (this.waiting || this.gone) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      const distance = this.size / Math.tan(this.camera.fov / 2 * DEG) * 1.12 / this.zoom;
      const yaw = this.yaw * DEG, pitch = this.pitch * DEG;
      this.camera.position.set(distance * Math.sin(yaw) * Math.cos(pitch), distance * Math.sin(pitch),
                               distance * Math.cos(yaw) * Math.cos(pitch));
      this.camera.lookAt(0, 0, this.size * 0.12);
      this.renderer.render(this.scene, this.camera);
      if (this.mesh) this.canvas.dataset.drawnAt ??= performance.now().toFixed(1);
      Object.assign(this.canvas.dataset, {drawn: this.mesh ? 'mesh' : 'wall', heat: this.heat ?? 'plain',
                                          look: `${Math.round(this.yaw)},${Math.round(this.pitch)}`, zoom: this.zoom.toFixed(1)});
    });
  }

  close() {
    this.gone = true;
    cancelAnimationFrame(this.waiting);
    this.watch.disconnect();
    this.mesh?.geometry.dispose();
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }

  #light() {
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8378, 1.6));
    const key = new THREE.DirectionalLight(0xffffff, 2.2);
    key.position.set(-0.5, 1.2, 0.9);
    this.scene.add(key);
  }

  #wall() {
    const shape = new THREE.CircleGeometry(1, 72);
    this.wall = new THREE.Group();
    const disc = new THREE.Mesh(shape, new THREE.MeshBasicMaterial({
      color: 0x9a9184, transparent: true, opacity: 0.22, side: THREE.DoubleSide, depthWrite: false}));
    disc.position.z = -0.01;
    this.wall.add(disc);
    this.tilted.add(this.wall);
  }

  #resize() {
    const width = this.canvas.clientWidth, height = this.canvas.clientHeight;
    if (!width || !height) return;
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  /** One finger looks around, two bring it closer; a tap picks the place for a section. */
  #followFingers() {
    const fingers = new Map();  // Where each one is.
    let from;
    const apart = () => {
      const [a, b] = [...fingers.values()];
      return Math.max(1, Math.hypot(a.x - b.x, a.y - b.y));
    };
    // Begun anew whenever a finger comes or goes, so that nothing jumps.
    const begin = (tap) => {
      const [first] = fingers.values();
      from = first && {...first, yaw: this.yaw, pitch: this.pitch, zoom: this.zoom, tap,
                       apart: fingers.size === 2 ? apart() : 0};
    };
    this.canvas.addEventListener('pointerdown', (event) => {
      fingers.set(event.pointerId, {x: event.clientX, y: event.clientY});
      this.canvas.setPointerCapture(event.pointerId);
      begin(fingers.size === 1);
    });
    this.canvas.addEventListener('pointermove', (event) => {
      if (!fingers.has(event.pointerId)) return;
      fingers.set(event.pointerId, {x: event.clientX, y: event.clientY});
      if (fingers.size === 2) return this.closer(from.zoom * apart() / from.apart);
      if (fingers.size > 2) return;
      const dx = event.clientX - from.x, dy = event.clientY - from.y;
      if (Math.hypot(dx, dy) > 6) from.tap = false;
      if (!from.tap) this.look(from.yaw - dx * 0.5 / this.zoom, from.pitch + dy * 0.5 / this.zoom);
    });
    const end = (event) => {
      if (fingers.size === 1 && from?.tap && event.type === 'pointerup') this.#pick(event);
      fingers.delete(event.pointerId);
      begin(false);
    };
    this.canvas.addEventListener('pointerup', end);
    this.canvas.addEventListener('pointercancel', end);
  }

  /** Arrows look around, plus and minus bring it closer and back. */
  #followKeys(name) {
    const looks = {ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, 10], ArrowDown: [0, -10]};
    this.canvas.tabIndex = 0;
    // Not "img": a screen reader would keep the arrow keys to itself.
    this.canvas.setAttribute('role', 'application');
    this.canvas.setAttribute('aria-label', `${name}: arrow keys look around, plus and minus come closer and back`);
    this.canvas.addEventListener('keydown', (event) => {
      const look = looks[event.key];
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (look) this.look(this.yaw + look[0], this.pitch + look[1]);
      else if (event.key === '+' || event.key === '=') this.closer(this.zoom * 1.25);
      else if (event.key === '-') this.closer(this.zoom / 1.25);
      else return;
      event.preventDefault();
    });
  }

  #pick(event) {
    if (!this.mesh) return;
    const box = this.canvas.getBoundingClientRect(), ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2((event.clientX - box.left) / box.width * 2 - 1,
                                        1 - (event.clientY - box.top) / box.height * 2), this.camera);
    const hit = ray.intersectObject(this.mesh)[0];
    // In the wall's frame the climber's right is x, whatever the hold's rotation.
    if (hit) this.onpick(this.tilted.worldToLocal(hit.point.clone()).x);
  }
}

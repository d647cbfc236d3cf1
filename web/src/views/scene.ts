import * as THREE from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { Shape } from "../api";
import { drawnInSoftware } from "../lib/software";
import { GLOW, Recolour } from "./recolour";

export type View = "left" | "front" | "above" | "right";
const FROM: Record<View, [number, number, number]> = { left: [-0.9, -1.6, 1.1], front: [-2, -0.15, 0.7], above: [-0.25, -0.05, 2.4], right: [-0.7, 1.7, 1.0] };

/** The bay: plain light, ink edges, colour by temperature through the ramp. Draws only when something changed. */
export class BayScene {
  private renderer: THREE.WebGLRenderer;
  private scene = new THREE.Scene();
  private camera = new THREE.PerspectiveCamera(32, 1, 0.01, 50);
  private controls: OrbitControls;
  private meshes = new Map<string, THREE.Mesh<THREE.BufferGeometry, THREE.MeshLambertMaterial>>();
  private edges: THREE.LineSegments[] = [];
  private asked = 0;
  private turned = true;
  private middle = new THREE.Vector3();
  private reach = 1;
  frames: number[] = [];
  private soft = drawnInSoftware();
  private coarse = false;
  private last = -1e9;
  private rest = 0;
  private wide = 1;
  private tall = 1;
  private still: Recolour | null = null;
  private kept = "";  // what the kept view shows; empty: none is kept
  private lately = "";  // what the last picture showed

  constructor(private host: HTMLElement, private picked: (part: string) => void, private drawn: () => void) {
    // Without a graphics card smooth edges cost most of a frame.
    this.renderer = new THREE.WebGLRenderer({ antialias: !this.soft });
    this.renderer.setPixelRatio(this.soft ? 1 : Math.min(devicePixelRatio, 1.5));
    host.prepend(this.renderer.domElement);
    if (this.soft) { this.still = new Recolour(); this.renderer.domElement.after(this.still.canvas); }
    this.renderer.domElement.setAttribute("role", "img");
    this.renderer.domElement.setAttribute("aria-label", "Bay in space; the list beside holds the same parts and temperatures");
    this.camera.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.camera, this.renderer.domElement);
    this.controls.addEventListener("change", () => { this.turned = true; this.leave(); this.ask(); });
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0xb0aca4, 2.2));
    const sun = new THREE.DirectionalLight(0xffffff, 1.4);
    sun.position.set(-1, -2, 3);
    this.scene.add(sun);
    let x = 0, y = 0;
    this.renderer.domElement.addEventListener("pointerdown", (e) => { x = e.clientX; y = e.clientY; });
    this.renderer.domElement.addEventListener("pointerup", (e) => { if (Math.hypot(e.clientX - x, e.clientY - y) < 4) this.pick(e); });
    new ResizeObserver(() => this.size()).observe(host);
    this.paper.className = "printed";
    host.append(this.paper);
    addEventListener("beforeprint", this.onPaper);
  }

  build(shapes: Shape[]) {
    for (const m of this.meshes.values()) { this.scene.remove(m); m.geometry.dispose(); }
    for (const e of this.edges) { this.scene.remove(e); e.geometry.dispose(); }
    this.meshes.clear();
    this.edges = [];
    this.leave();
    const box = new THREE.Box3();
    for (const s of shapes) {
      const g = new THREE.BufferGeometry();
      g.setAttribute("position", new THREE.Float32BufferAttribute(s.vertices, 3));
      g.setIndex(s.faces);
      // Flat faces by the fragment, so that triangles share their corners: a sixth of the corners to place.
      const mesh = new THREE.Mesh(g, new THREE.MeshLambertMaterial({ side: THREE.DoubleSide, flatShading: true }));
      mesh.name = s.part;
      mesh.visible = false;  // until it has its colour
      this.meshes.set(s.part, mesh);
      this.scene.add(mesh);
      const lines = new THREE.LineSegments(new THREE.EdgesGeometry(g, 32), new THREE.LineBasicMaterial({ transparent: true, opacity: 0.5 }));
      lines.visible = false;
      this.edges.push(lines);
      this.scene.add(lines);
      if (!s.wall || shapes.every((x) => x.wall)) box.expandByObject(mesh);
    }
    if (!box.isEmpty()) { box.getCenter(this.middle); this.reach = Math.max(0.3, box.getSize(new THREE.Vector3()).length() / 2); }
    this.look("left");
  }

  look(view: View) {
    const d = new THREE.Vector3(...FROM[view]).normalize().multiplyScalar(this.reach / Math.sin((this.camera.fov * Math.PI) / 360) * 0.78);
    this.camera.position.copy(this.middle).add(d);
    this.controls.target.copy(this.middle);
    this.controls.update();
    this.leave();
    this.ask();
  }

  /** Colour of every part; null hides it. */
  paint(colours: Map<string, string | null>, chosen: string, ground: string, ink: string) {
    this.scene.background = new THREE.Color(ground);
    for (const [part, mesh] of this.meshes) {
      const c = colours.get(part);
      mesh.visible = c !== null && c !== undefined;
      if (c) mesh.material.color.set(c);
      mesh.material.emissive.set(part === chosen ? c ?? "#000" : "#000");
      mesh.material.emissiveIntensity = part === chosen ? GLOW : 0;
    }
    this.edges.forEach((e, k) => { const name = [...this.meshes.keys()][k]; e.visible = this.meshes.get(name)!.visible; (e.material as THREE.LineBasicMaterial).color.set(ink); (e.material as THREE.LineBasicMaterial).opacity = name === chosen ? 1 : 0.42; });
    if (!this.recolour(colours, chosen, ground, ink)) this.ask();
  }

  /** Colours alone changed since the last picture: the kept view in other colours. False where that will not do. */
  private recolour(colours: Map<string, string | null>, chosen: string, ground: string, ink: string): boolean {
    const names = [...this.meshes.keys()], visible = names.filter((n) => this.meshes.get(n)!.visible);
    const now = [...visible, chosen, ground, ink].join("\n"), same = now === this.lately;
    this.lately = now;
    if (!this.still || !same || names.length > 254) { this.forget(); return false; }
    const began = performance.now();
    if (this.kept !== now) this.still.take(this.renderer, this.scene, this.camera, [...this.meshes.values()], this.edges, this.wide, this.tall);
    this.kept = now;
    this.still.show(names.map((n) => colours.get(n) ?? null), names.indexOf(chosen), ground, ink);
    this.frames.push(performance.now() - began);
    if (this.frames.length > 400) this.frames.shift();
    return true;
  }

  private forget() { this.kept = ""; this.still?.hide(); }

  /** The view is another one from now on. */
  private leave() { this.lately = ""; this.forget(); }

  /** Where a part's middle stands on the view, px; null behind it. */
  place(part: string): [number, number] | null {
    const mesh = this.meshes.get(part);
    if (!mesh || !mesh.visible) return null;
    if (!mesh.geometry.boundingBox) mesh.geometry.computeBoundingBox();
    const p = mesh.geometry.boundingBox!.getCenter(new THREE.Vector3()).project(this.camera);
    return p.z > 1 ? null : [((p.x + 1) / 2) * this.wide, ((1 - p.y) / 2) * this.tall];
  }

  /** Where a point of the bay (m) stands on the view, px; null behind it. */
  at(point: [number, number, number]): [number, number] | null {
    const p = new THREE.Vector3(...point).project(this.camera);
    return p.z > 1 ? null : [((p.x + 1) / 2) * this.wide, ((1 - p.y) / 2) * this.tall];
  }

  /** For paper: what is seen, on white, as a picture that stays when the canvas is laid out anew. */
  private paper = document.createElement("canvas");
  private onPaper = () => {
    const ground = this.scene.background, drawn = this.renderer.domElement;
    this.scene.background = new THREE.Color("#ffffff");
    this.renderer.render(this.scene, this.camera);
    this.paper.width = drawn.width;
    this.paper.height = drawn.height;
    this.paper.getContext("2d")?.drawImage(drawn, 0, 0);
    this.scene.background = ground;
    this.ask();
  };

  private pick(e: PointerEvent) {
    const r = this.renderer.domElement.getBoundingClientRect();
    const ray = new THREE.Raycaster();
    ray.setFromCamera(new THREE.Vector2(((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2), this.camera);
    const hit = ray.intersectObjects([...this.meshes.values()].filter((m) => m.visible))[0];
    if (hit) this.picked(hit.object.name);
  }

  private size() {
    const w = this.host.clientWidth, h = this.host.clientHeight;
    if (!w || !h) return;
    this.wide = w;
    this.tall = h;
    this.leave();
    this.renderer.setSize(w, h, false);
    this.camera.aspect = w / h;
    this.camera.updateProjectionMatrix();
    this.turned = true;
    this.ask();
  }

  /** Without a graphics card a picture that moves is drawn coarser; as it rests, in full. */
  private quick() {
    if (!this.soft) return;
    const now = performance.now(), moving = now - this.last < 250;
    this.last = now;
    if (moving && !this.coarse) this.sharpness(0.5);
    if (!moving) return;
    clearTimeout(this.rest);
    this.rest = window.setTimeout(() => { this.sharpness(1); this.ask(true); }, 260);
  }

  private sharpness(ratio: number) {
    this.coarse = ratio < 1;
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(this.wide, this.tall, false);
  }

  private ask(resting = false) {
    if (!resting) this.quick();
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; const t = performance.now(); this.renderer.render(this.scene, this.camera); this.frames.push(performance.now() - t); if (this.frames.length > 400) this.frames.shift(); this.host.dataset.scene = "ready"; if (this.turned) { this.turned = false; this.drawn(); } });
  }

  end() { removeEventListener("beforeprint", this.onPaper); this.paper.remove(); clearTimeout(this.rest); cancelAnimationFrame(this.asked); this.controls.dispose(); this.renderer.dispose(); this.renderer.domElement.remove(); this.still?.canvas.remove(); }
}

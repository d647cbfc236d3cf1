import * as THREE from "three";

const GREY = 0.85;  // of the material the light is read off: what the lamps give together stays below full white
export const GLOW = 0.28;  // emission of the chosen part over its colour
const OUT = Uint8Array.from({ length: 1024 }, (_, k) => { const l = k / 1023; return Math.round(255 * (l <= 0.0031308 ? 12.92 * l : 1.055 * l ** (1 / 2.4) - 0.055)); });
const bytes = (c: THREE.Color) => { const s = c.clone().convertLinearToSRGB(); return [s.r, s.g, s.b].map((v) => Math.round(255 * v)); };

/**
 * A picture whose view stands still while colours change, as over a duty: which part, how much light and how much of
 * an edge each pixel shows is read off once; from then on a frame is a look-up for every pixel, and nothing is
 * drawn in space. For machines without a graphics card, where that costs some tens of milliseconds a frame.
 */
export class Recolour {
  readonly canvas = document.createElement("canvas");
  private context = this.canvas.getContext("2d", { willReadFrequently: true })!;
  private image: ImageData | null = null;
  private key = new Uint16Array(0);  // part × 256 + light; part 0 is the ground
  private edgeAt = new Uint32Array(0);
  private edge = new Uint8Array(0);

  constructor() {
    this.canvas.className = "still";
    this.canvas.setAttribute("aria-hidden", "true");
    this.canvas.hidden = true;
  }

  /** Reads the present view: three plain pictures of it. */
  take(renderer: THREE.WebGLRenderer, scene: THREE.Scene, camera: THREE.Camera, meshes: THREE.Mesh[], edges: THREE.LineSegments[], width: number, height: number) {
    const target = new THREE.WebGLRenderTarget(width, height, { minFilter: THREE.NearestFilter, magFilter: THREE.NearestFilter });
    const own = meshes.map((m) => m.material), inks = edges.map((e) => (e.material as THREE.LineBasicMaterial).color.clone()), shown = edges.map((e) => e.visible), ground = scene.background;
    const made: THREE.Material[] = [];
    const picture = (material: (k: number) => THREE.Material, lines: boolean) => {
      meshes.forEach((m, k) => { const one = material(k); made.push(one); m.material = one; });
      edges.forEach((e, k) => { e.visible = lines && shown[k]; });
      renderer.setRenderTarget(target);
      renderer.clear();
      renderer.render(scene, camera);
      const data = new Uint8Array(4 * width * height);
      renderer.readRenderTargetPixels(target, 0, 0, width, height, data);
      return data;
    };
    const plain = (r: number) => new THREE.MeshBasicMaterial({ color: new THREE.Color().setRGB(r, 0, 0), side: THREE.DoubleSide });
    scene.background = new THREE.Color(0);
    const which = picture((k) => plain((k + 1) / 255), false);
    const light = picture(() => new THREE.MeshLambertMaterial({ color: new THREE.Color().setRGB(GREY, GREY, GREY), side: THREE.DoubleSide, flatShading: true }), false);
    edges.forEach((e) => (e.material as THREE.LineBasicMaterial).color.setRGB(1, 1, 1));
    const lined = picture(() => plain(0), true);
    meshes.forEach((m, k) => { m.material = own[k]; });
    edges.forEach((e, k) => { e.visible = shown[k]; (e.material as THREE.LineBasicMaterial).color.copy(inks[k]); });
    scene.background = ground;
    renderer.setRenderTarget(null);
    target.dispose();
    made.forEach((m) => m.dispose());
    this.keep(which, light, lined, width, height);
  }

  private keep(which: Uint8Array, light: Uint8Array, lined: Uint8Array, width: number, height: number) {
    this.canvas.width = width;
    this.canvas.height = height;
    this.image = this.context.createImageData(width, height);
    this.key = new Uint16Array(width * height);
    const at: number[] = [], much: number[] = [];
    for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) {
      const from = 4 * ((height - 1 - y) * width + x), to = y * width + x;  // read from the bottom up
      this.key[to] = (which[from] << 8) | light[from];
      if (lined[from] > 2) { at.push(to); much.push(lined[from]); }
    }
    this.edgeAt = Uint32Array.from(at);
    this.edge = Uint8Array.from(much);
  }

  /** Draws the kept view in these colours, one a mesh; null where a mesh is hidden. */
  show(colours: (string | null)[], chosen: number, ground: string, ink: string) {
    const table = new Uint32Array((colours.length + 1) * 256).fill(0xff000000), c = new THREE.Color();
    const [gr, gg, gb] = bytes(new THREE.Color(ground)), [ir, ig, ib] = bytes(new THREE.Color(ink));
    table.fill(((255 << 24) | (gb << 16) | (gg << 8) | gr) >>> 0, 0, 256);
    colours.forEach((text, k) => {
      if (!text) return;
      c.set(text);
      for (let s = 0; s < 256; s++) {
        const l = 1023 * (s / 255 / GREY + (k === chosen ? GLOW : 0));
        const [r, g, b] = [c.r, c.g, c.b].map((v) => OUT[Math.min(1023, Math.round(v * l))]);
        table[(k + 1) * 256 + s] = ((255 << 24) | (b << 16) | (g << 8) | r) >>> 0;
      }
    });
    const image = this.image!, pixels = new Uint32Array(image.data.buffer), key = this.key;
    for (let i = 0; i < key.length; i++) pixels[i] = table[key[i]];
    for (let j = 0; j < this.edgeAt.length; j++) {
      const i = this.edgeAt[j], e = this.edge[j] / 255, p = pixels[i];
      pixels[i] = ((255 << 24) | (((p >> 16) & 255) * (1 - e) + ib * e) << 16 | (((p >> 8) & 255) * (1 - e) + ig * e) << 8 | ((p & 255) * (1 - e) + ir * e)) >>> 0;
    }
    this.context.putImageData(image, 0, 0);
    this.canvas.hidden = false;
  }

  hide() { this.canvas.hidden = true; }
}

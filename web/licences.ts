import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import type { Plugin } from "vite";

/** The licence of every library in the bundle, as one text shipped beside it: each asks to go along with copies. */
export function licences(): Plugin {
  return {
    name: "licences",
    generateBundle() {
      const found = new Map<string, string>();
      for (const id of this.getModuleIds()) {
        const room = packageOf(id.replace(/^\0/, "").split("?")[0]);
        if (room) found.set(room, textOf(room));
      }
      const source = [...found.values()].sort().join("\n" + "-".repeat(78) + "\n\n");
      this.emitFile({ type: "asset", fileName: "licences.txt", source: "Libraries bundled with the page of heatproof, and their licences.\n\n" + source });
    },
  };
}

function packageOf(file: string): string | null {
  if (!file.includes("/node_modules/")) return null;
  for (let room = dirname(file); room.includes("node_modules"); room = dirname(room)) {
    const at = join(room, "package.json");
    if (existsSync(at) && JSON.parse(readFileSync(at, "utf8")).version) return room;
  }
  return null;
}

function textOf(room: string): string {
  const { name, version, license } = JSON.parse(readFileSync(join(room, "package.json"), "utf8"));
  const file = readdirSync(room).find((f) => /^licen[cs]e(\.(md|txt))?$/i.test(f));
  if (!file) throw new Error(`${name} has no licence file: see what its ${license} asks for, and add it`);
  return `${name} ${version}, ${license}\n\n${readFileSync(join(room, file), "utf8").trim()}\n`;
}

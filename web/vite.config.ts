import preact from "@preact/preset-vite";
import { defineConfig } from "vite";
import { licences } from "./licences.ts";

// Relative addresses, fixed names with content hashes, vendor code apart: a usual change rewrites one small file.
export default defineConfig({
  base: "./",
  plugins: [preact({ prefreshEnabled: false, devToolsEnabled: false }), licences()],
  build: {
    outDir: "../src/heatproof/doors/page/static",
    emptyOutDir: true,
    sourcemap: false,
    chunkSizeWarningLimit: 900,
    rollupOptions: {
      output: {
        manualChunks(id: string) {
          if (id.includes("node_modules/three")) return "three";
          if (id.includes("node_modules")) return "vendor";
        },
      },
    },
  },
  server: { proxy: { "/api": "http://127.0.0.1:8765" } },
});

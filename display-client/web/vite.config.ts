import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { defineConfig, type Plugin } from "vite";

/** What is bundled into the pages; each licence asks that its text goes along. */
const BUNDLED = ["lit-html", "@fontsource/b612"];

/** Puts the licence texts of everything that is bundled beside the pages. */
function licences(): Plugin {
  return {
    name: "licences",
    apply: "build",
    generateBundle() {
      const texts = BUNDLED.map((name) => {
        const text = readFileSync(resolve(import.meta.dirname, "node_modules", name, "LICENSE"), "utf8");
        return `${name}\n${"=".repeat(name.length)}\n\n${text}`;
      });
      this.emitFile({ type: "asset", fileName: "licences.txt", source: texts.join("\n\n") });
    },
  };
}

export default defineConfig({
  plugins: [licences()],
  build: {
    target: "es2022",
    // Fonts stay files of their own, so that the budgets of `npm run sizes` count code and style alone.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      input: { phone: "index.html", wall: "wall.html", coach: "coach.html", tally: "tally.html" },
    },
  },
  server: { host: "127.0.0.1" },
});

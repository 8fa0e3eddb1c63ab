// Builds each page by itself. A device loads one page and no other, so files that pages have in common would save
// nobody anything, and would make every page larger: what is bundled together is compressed together.
// `--outDir FOLDER` puts the pages elsewhere than in `dist`; the folder is emptied first.
import { parseArgs } from "node:util";
import { build, loadConfigFromFile } from "vite";

const { values } = parseArgs({ options: { outDir: { type: "string" }, emptyOutDir: { type: "boolean" } } });
const { config } = await loadConfigFromFile({ command: "build", mode: "production" });
const pages = Object.entries(config.build.rolldownOptions.input);
for (const [index, [name, file]] of pages.entries()) {
  await build({
    ...config,
    configFile: false,
    logLevel: "warn",
    build: {
      ...config.build,
      outDir: values.outDir ?? "dist",
      emptyOutDir: index === 0,
      rolldownOptions: { input: { [name]: file } },
    },
  });
}

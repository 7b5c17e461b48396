// One file for the extension, and beside it what the repository has already: the JSON Schemas and the licence.
import { build } from "esbuild";
import { copyFileSync, mkdirSync, rmSync } from "node:fs";

const repository = new URL("../../", import.meta.url);
const here = new URL("./", import.meta.url);

rmSync(new URL("dist/", here), { recursive: true, force: true });
mkdirSync(new URL("schemas/", here), { recursive: true });
for (const kind of ["rig", "blueprint", "catalogue", "policy"]) {
  copyFileSync(new URL(`schema/${kind}.schema.json`, repository), new URL(`schemas/${kind}.schema.json`, here));
}
copyFileSync(new URL("LICENSE", repository), new URL("LICENSE", here));

await build({
  entryPoints: ["src/extension.ts"],
  outfile: "dist/extension.js",
  bundle: true,
  minify: true,
  platform: "node",
  format: "cjs",
  target: "node20",
  external: ["vscode"],
});
await build({
  entryPoints: ["src/page.ts"],
  outfile: "dist/page.js",
  bundle: true,
  minify: true,
  platform: "browser",
  format: "iife",
  target: "es2022",
});

// What Khronos' validator (npm gltf-validator 2.0.0-dev.3.10) finds in a GLB file: prints its issues as JSON.
// node validate_gltf.cjs FILE; ends with 3 where the package is not there. To have it:
// npm install --no-save --no-package-lock --prefix tests/reference gltf-validator@2.0.0-dev.3.10
const { readFileSync } = require('node:fs');

let validator;
try {
  validator = require('gltf-validator');
} catch {
  process.exit(3);
}
validator.validateBytes(new Uint8Array(readFileSync(process.argv[2]))).then(({ issues, info }) => {
  console.log(JSON.stringify({ ...issues, info }));
});

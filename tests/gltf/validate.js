// Prints what the validator of glTF's makers says of a file, as JSON: node validate.js FILE.glb
const fs = require("fs");
const validator = require("gltf-validator");
validator
  .validateBytes(new Uint8Array(fs.readFileSync(process.argv[2])), { maxIssues: 50 })
  .then((report) => console.log(JSON.stringify({ issues: report.issues, info: report.info })))
  .catch((error) => {
    console.error(String(error));
    process.exit(1);
  });

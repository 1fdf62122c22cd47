// Opens a model with the C++/WASM parser and prints how long opening took: node open_wasm.js FILE
const fs = require("fs");
const { IfcAPI, LogLevel } = require("web-ifc");
(async () => {
  const api = new IfcAPI();
  await api.Init();
  api.SetLogLevel(LogLevel.LOG_LEVEL_OFF);
  const file = fs.openSync(process.argv[2], "r");
  const start = process.hrtime.bigint();
  // By pieces, so that the file is not held a second time.
  const model = api.OpenModelFromCallback((offset, size) => {
    const piece = new Uint8Array(size);
    const read = fs.readSync(file, piece, 0, size, offset);
    return piece.subarray(0, read);
  });
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  const instances = api.GetAllLines(model).size();
  console.log(JSON.stringify({ open_s: seconds, instances }));
  process.exit(0);
})();

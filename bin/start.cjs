"use strict";
// What was compiled once need not be compiled again: most of the time a start takes is that.
require("node:module").enableCompileCache?.();
import("../dist/main.js").catch((error) => {
  process.stderr.write(`holdfast could not start: ${error.message}\n`);
  process.exit(3);
});

#!/usr/bin/env node
"use strict";
// Written so that any Node can read it: an older one gets one line and not a page of syntax errors.
var needed = [22, 13];
var found = process.versions.node.split(".").map(Number);
if (found[0] < needed[0] || (found[0] === needed[0] && found[1] < needed[1])) {
  process.stderr.write(
    "holdfast needs Node " +
      needed.join(".") +
      " or newer and was started by Node " +
      process.versions.node +
      ". Install a newer one from nodejs.org or your system's packages, and start it again.\n",
  );
  process.exit(2);
}
require("./start.cjs");

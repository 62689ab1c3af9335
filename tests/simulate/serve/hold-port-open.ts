/** A host that opens the port, energises output 1, says so, and then does nothing for ever. */
import { SerialPort } from "serialport";

const port = new SerialPort({ path: process.argv[2] ?? "", baudRate: 500_000 });
let text = "";
port.on("data", (bytes: Buffer) => {
  text += bytes.toString("latin1");
  if (text.includes("BOOT") && text.includes("\n")) {
    text = "";
    port.write("ROUT:CLOS (@1)\nROUT:CLOS? (@1)\n");
  }
  if (text.startsWith("1\n")) {
    process.stdout.write("energised\n");
  }
});

// Sends one file with tus-js-client, as the page does:  node tus-send.mjs '{"endpoint","token","file","release","path","chunk","pause"}'
// With "pause" it says which request comes next and waits for a line before each one after the first piece, so that a test can
// stop and start the server in between. Ends with {"url", "requests"} or {"error"} on one line.
import { createReadStream, statSync } from "node:fs";
import { createInterface } from "node:readline";
import { Upload } from "tus-js-client";

const order = JSON.parse(process.argv[2]);
const lines = createInterface({ input: process.stdin })[Symbol.asyncIterator]();
const requests = [];
let pieces = 0;

const upload = new Upload(createReadStream(order.file, { highWaterMark: order.chunk }), {
  endpoint: order.endpoint,
  uploadUrl: order.upload ?? null,
  uploadSize: statSync(order.file).size,
  chunkSize: order.chunk,
  retryDelays: [0, 0, 0, 0],
  headers: { Authorization: `Bearer ${order.token}` },
  metadata: { release: String(order.release), path: order.path, kind: "file", ...(order.sha256 ? { sha256: order.sha256 } : {}) },
  async onBeforeRequest(request) {
    requests.push(request.getMethod());
    if (!order.pause || pieces === 0) return;
    console.log(request.getMethod());
    await lines.next();
  },
  onChunkComplete() { pieces += 1; },
  onError(fault) {
    console.log(JSON.stringify({ error: fault.originalResponse?.getBody() || fault.message, requests }));
    process.exit(1);
  },
  onSuccess() {
    console.log(JSON.stringify({ url: upload.url, requests }));
    process.exit(0);
  },
});
upload.start();

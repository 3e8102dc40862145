// Sends a folder (dropped or chosen) or a .zip to a draft. Only what the shelf lacks travels; what it confirmed is what the bar
// shows. The steps: collect, read (SHA-256), plan, send three at a time by tus 1.0.0, ask for the check, go to the sheet.
import { canHash, sha256 } from "./hash-files.js";
import { SendView } from "./send-view.js";
import { wordsOf } from "./words.js";

const AT_A_TIME = 3;
const PIECE_BYTES = 8 * 1024 * 1024;
const RETRY_MS = [0, 1000, 3000, 5000, 10000];

class Trouble extends Error {}

/** Asked for by a press: no trouble, but it ends the work as one does. */
class Stopped extends Trouble {}

class Sender {
  constructor(root) {
    this.root = root;
    this.words = wordsOf(root);
    this.view = new SendView(root, this.words);
    this.release = root.dataset.release;
    this.sheet = root.dataset.sheet;
    this.token = root.dataset.token;
    this.running = [];
    this.view.onFiles((files) => this.run(() => this.sendFolder(files)));
    this.view.onZip((file) => this.run(() => this.sendZip(file)));
    this.view.onStop(() => this.stop());
    this.view.onGoOn(() => this.run(this.goOn));
    addEventListener("beforeunload", (event) => { if (this.busy) event.preventDefault(); });
  }

  /** Runs a stretch of work; whatever stops it is told in words, and what can be gone on with stays. */
  async run(work) {
    if (this.busy) return;
    this.busy = true;
    this.root.dataset.busy = "";
    this.stopped = false;
    this.view.begin();
    try {
      await work();
      this.rest();
      location.assign(this.sheet);
    } catch (fault) {
      this.rest();
      this.halt();
      const words = fault instanceof Trouble ? fault.message : this.words("failed", fault.message);
      this.view.trouble(words, Boolean(this.goOn), fault instanceof Stopped);
    }
  }

  rest() {
    this.busy = false;
    delete this.root.dataset.busy;
  }

  stop() {
    this.stopped = true;
    this.halt();
    this.rejectStop?.(new Stopped(this.words("stopped")));
  }

  halt() {
    for (const upload of this.running.splice(0)) upload.abort();
  }

  async sendFolder(files) {
    this.goOn = null;
    if (files.length === 0) throw new Trouble(this.words("no-files"));
    const total = files.reduce((sum, f) => sum + f.file.size, 0);
    await this.read(files, total);
    const plan = await this.ask("POST", `/api/drafts/${this.release}/folder`,
      { files: files.map((f) => ({ path: f.path, size: f.file.size, sha256: f.sha256 })) });
    const byPath = new Map(files.map((f) => [f.path, f.file]));
    this.view.sending(total, total - plan.wantedBytes, files.length, files.length - plan.wanted.length);
    const queue = plan.wanted.map((w) => ({ ...w, kind: "file", file: byPath.get(w.path), confirmed: 0 }));
    await this.drain(queue);
  }

  async sendZip(file) {
    this.goOn = null;
    this.view.sending(file.size, 0, 1, 0);
    await this.drain([{ path: file.name, size: file.size, kind: "zip", file, confirmed: 0 }]);
  }

  /** Computes each file's SHA-256 where the browser can (https or localhost). */
  async read(files, total) {
    if (!canHash()) {
      for (const f of files) f.sha256 = null;
      this.view.note(this.words("all-are-sent"));
      return;
    }
    let done = 0;
    for (const f of files) {
      if (this.stopped) throw new Stopped(this.words("stopped-at-once"));
      this.view.reading(total, done, f.path);
      f.sha256 = await this.hash(f);
      done += f.file.size;
    }
  }

  async hash({ file, path }) {
    try {
      return await sha256(file);
    } catch {
      throw new Trouble(this.words("unreadable", path));
    }
  }

  /** Sends what is in the queue; on trouble the rest stays in it, and "Go on from there" comes back here. */
  async drain(queue) {
    this.goOn = () => this.drain(queue);
    for (const item of queue) item.going = false;
    const stopped = new Promise((_, reject) => { this.rejectStop = reject; });
    stopped.catch(() => {});
    const lanes = Array.from({ length: AT_A_TIME }, () => this.lane(queue));
    await Promise.race([Promise.all(lanes), stopped]);
    await this.finish();
  }

  async lane(queue) {
    for (;;) {
      const item = queue.find((i) => !i.done && !i.going);
      if (!item || this.stopped) return;
      item.going = true;
      try {
        await this.upload(item);
        item.done = true;
        this.view.fileDone();
        if (item.kind === "zip") this.zipSent = true;
      } finally {
        item.going = false;
      }
    }
  }

  upload(item) {
    return new Promise((resolve, reject) => {
      const metadata = { release: this.release, path: item.path, kind: item.kind };
      if (item.sha256) metadata.sha256 = item.sha256;
      const upload = new tus.Upload(item.file, {
        endpoint: "/uploads",
        uploadUrl: item.upload ?? null,
        chunkSize: PIECE_BYTES,
        uploadDataDuringCreation: true,
        storeFingerprintForResuming: false,
        retryDelays: RETRY_MS,
        headers: { RequestVerificationToken: this.token },
        metadata,
        onUploadUrlAvailable: () => { item.upload = upload.url; },
        onProgress: () => this.view.now(item.path),
        onChunkComplete: (_, accepted) => this.confirm(item, accepted),
        onSuccess: () => { this.confirm(item, item.file.size); this.forget(upload); resolve(); },
        onError: (fault) => { this.forget(upload); reject(new Trouble(this.explain(item, fault))); },
      });
      this.running.push(upload);
      upload.start();
    });
  }

  forget(upload) {
    this.running = this.running.filter((u) => u !== upload);
  }

  confirm(item, bytes) {
    this.view.confirmed(bytes - item.confirmed);
    item.confirmed = bytes;
  }

  explain(item, fault) {
    const said = messageOf(fault.originalResponse?.getBody());
    return said ?? this.words("not-sent", item.path);
  }

  /** The sheet's page shows how far the unpacking of a zip is, then the check, and can stop either. */
  async finish() {
    if (this.zipSent) return;
    this.view.waiting(this.words("checking"));
    await this.ask("POST", `/api/drafts/${this.release}/check`);
  }

  async ask(method, url, body) {
    let answer;
    try {
      answer = await fetch(url, {
        method,
        headers: { "content-type": "application/json", RequestVerificationToken: this.token },
        body: body === undefined ? undefined : JSON.stringify(body),
      });
    } catch {
      throw new Trouble(this.words("unreachable"));
    }
    const text = await answer.text();
    if (answer.ok) return JSON.parse(text);
    if (answer.status === 401) throw new Trouble(this.words("signed-out"));
    throw new Trouble(messageOf(text) ?? this.words("answered", answer.status));
  }
}

/** The message of a refusal, or null. */
function messageOf(text) {
  try {
    return JSON.parse(text).message ?? null;
  } catch {
    return null;
  }
}

const root = document.getElementById("send-folder");
if (root && globalThis.tus?.isSupported) new Sender(root);


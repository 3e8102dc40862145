// The recordings of a playable set: loaded once, decoded when they are first struck or while nothing else is to be done, played as the mapping says.
import { Fault } from "./words.js";

const MOST_VOICES = 32;
const SOFT_STOP = 0.03;
/** Where the limiter begins, dB of full scale, and how many dB more come in for one more to come out. */
const LIMIT_DB = -3;
const LIMIT_RATIO = 20;

async function ask(url, signal) {
  const answer = await fetch(url, { signal });
  if (!answer.ok) throw new Fault("answered", answer.status);
  return answer;
}

function bytesOf(base64) {
  return Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0)).buffer;
}

/** Whole, telling how far it is. */
async function download(url, size, progress, signal) {
  const reader = (await ask(url, signal)).body.getReader();
  const bytes = new Uint8Array(size);
  let at = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    if (at + value.length > size) throw new Fault("too-much");
    bytes.set(value, at);
    at += value.length;
    progress(at, size);
  }
  if (at < size) throw new Fault("broken");
  return bytes.buffer;
}

/**
 * Several hard strokes at once would be beyond full scale and clip. Below the limit nothing changes: Web Audio 1.1 lifts everything behind a compressor by what full scale was
 * lowered, to the power of 0.6 (its "makeup gain"), and that is taken back. It looks ahead 6 ms.
 */
export function limiter(context) {
  const limit = new DynamicsCompressorNode(context, { threshold: LIMIT_DB, ratio: LIMIT_RATIO, knee: 0, attack: 0.001, release: 0.1 });
  const back = new GainNode(context, { gain: 10 ** (0.6 * (LIMIT_DB - LIMIT_DB / LIMIT_RATIO) / 20) });
  limit.connect(back).connect(context.destination);
  return limit;
}

/** Of what sounds on a key, what is meant for this velocity; where nothing is, what comes nearest to it: keys may differ in their layers. */
export function nearest(on, velocity) {
  const off = (r) => Math.abs(velocity - Math.min(Math.max(velocity, r.softest), r.hardest));
  const least = Math.min(...on.map(off));
  return on.filter((r) => off(r) === least);
}

export class Sounds {
  #context = new AudioContext({ latencyHint: "interactive" });
  #volume = this.#context.createGain();
  #decoded = new Map();
  #turns = new Map();
  #voices = new Set();
  #bytes;

  constructor() { this.#volume.connect(limiter(this.#context)); }

  /** @param url Of the manifest. */
  async load(url, progress, signal) {
    try {
      await this.#load(url, progress, signal);
      signal.throwIfAborted();
    } catch (fault) {
      // A browser has few of them, and another try makes its own.
      this.#context.close();
      throw fault;
    }
  }

  async #load(url, progress, signal) {
    const manifest = await (await ask(url, signal)).json();
    const [opus, wav] = manifest.sets;
    // Who can decode the probe can decode the set.
    const set = await this.#context.decodeAudioData(bytesOf(manifest.probe)).then(() => opus, () => wav);
    this.#bytes = await download(new URL(`${set.file}?v=${set.mark}`, new URL(url, location.href)), set.bytes, progress, signal);
    // What is nothing was left out.
    this.regions = set.regions.map((r) => ({ at: 0, way: 0, low: 0, high: 0, take: 0, centre: 0, cents: 0, track: 0, velocityTrack: 0, release: 0, ...r }));
    // By number, so that what did not fit into the set has none; of the library's, because what is left out is told.
    this.ways = manifest.ways.map((name, way) => ({ name, way })).filter(({ way }) => this.regions.some((r) => r.way === way && !r.lift));
    this.allWays = manifest.ways.length;
  }

  set level(volume) { this.#volume.gain.setTargetAtTime(volume, this.#context.currentTime, 0.01); }

  /** Browsers begin a sound only in the wake of a press. */
  wake() { if (this.#context.state !== "running") this.#context.resume(); }

  on(way, key, lift = false) {
    return this.regions.filter((r) => r.way === way && Boolean(r.lift) === lift && r.low <= key && key <= r.high);
  }

  /** Softest first. */
  layers(way) {
    const hardest = new Set(this.regions.filter((r) => r.way === way && !r.lift).map((r) => r.hardest));
    return [...hardest].sort((a, b) => a - b);
  }

  /** Some key has several takes. */
  hasTakes(way) { return this.regions.some((r) => r.way === way && !r.lift && r.take > 0); }

  decode(region) {
    let decoding = this.#decoded.get(region.at);
    if (!decoding) {
      decoding = this.#context.decodeAudioData(this.#bytes.slice(region.at, region.at + region.bytes));
      this.#decoded.set(region.at, decoding);
      decoding.catch(() => this.#decoded.delete(region.at));
    }
    return decoding;
  }

  /** Decodes ahead, one after the other, until another call. */
  async prepare(regions) {
    const turn = this.preparing = {};
    for (const region of regions) {
      if (this.preparing !== turn) return;
      await this.decode(region).catch(() => {});
    }
  }

  /** Strikes a key; answers how to let it go. */
  strike(way, key, velocity) {
    this.wake();
    const on = nearest(this.on(way, key), velocity);
    const takes = [...new Set(on.map((r) => r.take))].sort((a, b) => a - b);
    const name = `${way} ${key} ${on[0]?.hardest}`;
    const turn = this.#turns.get(name) ?? 0;
    this.#turns.set(name, turn + 1);
    const voices = on.filter((r) => r.take === takes[turn % takes.length]).map((r) => this.#start(r, key, velocity));
    return () => {
      for (const voice of voices) voice.letGo();
      const [lift] = this.on(way, key, true);
      if (lift && voices.length) this.#start(lift, key, velocity);
    };
  }

  quiet() { for (const voice of [...this.#voices]) voice.stop(SOFT_STOP); }

  #start(region, key, velocity) {
    const voice = { isLetGo: false, stop: () => {}, letGo() { this.isLetGo = true; if (!region.once) this.stop(region.release); } };
    this.decode(region).then((buffer) => this.#sound(voice, region, buffer, key, velocity), () => {});
    return voice;
  }

  #sound(voice, region, buffer, key, velocity) {
    const context = this.#context;
    const source = new AudioBufferSourceNode(context, { buffer, playbackRate: 2 ** ((region.cents + (key - region.centre) * region.track) / 1200) });
    const square = (velocity / 127) ** 2;
    const track = region.velocityTrack;
    const gain = new GainNode(context, { gain: track >= 0 ? 1 - track * (1 - square) : 1 + track * square });
    if (region.loop) [source.loop, source.loopStart, source.loopEnd] = [true, ...region.loop];
    source.connect(gain).connect(this.#volume);
    source.onended = () => { this.#voices.delete(voice); gain.disconnect(); };
    voice.stop = (seconds) => {
      const now = context.currentTime;
      gain.gain.cancelScheduledValues(now);
      gain.gain.setValueAtTime(gain.gain.value, now);
      gain.gain.linearRampToValueAtTime(0, now + seconds);
      source.stop(now + seconds);
    };
    source.start();
    this.#voices.add(voice);
    if (this.#voices.size > MOST_VOICES) this.#voices.values().next().value.stop(SOFT_STOP);
    if (voice.isLetGo) voice.letGo();
  }
}

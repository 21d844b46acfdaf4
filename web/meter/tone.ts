/** A tone that follows the level, for the hand that wiggles a harness: higher is more volts or amps. */
import { signal } from "@preact/signals";
import { wakeSound } from "./feedback.ts";

export const toneOn = signal(false);

/** From low to high over the range that has been seen; what moves little is widened, so that noise does not sing. */
const lowHertz = 220;
const octaves = 2;
const leastRange = 0.05;

let playing: { tone: OscillatorNode; volume: GainNode } | null = null;
let low = Number.POSITIVE_INFINITY;
let high = Number.NEGATIVE_INFINITY;

export function startTone(): void {
  const audio = wakeSound();
  stopTone();
  low = Number.POSITIVE_INFINITY;
  high = Number.NEGATIVE_INFINITY;
  toneOn.value = true;
  if (!audio) return;
  const [tone, volume] = [audio.createOscillator(), audio.createGain()];
  tone.type = "triangle";
  tone.frequency.value = lowHertz;
  volume.gain.value = 0;
  tone.connect(volume).connect(audio.destination);
  tone.start();
  playing = { tone, volume };
}

export function stopTone(): void {
  toneOn.value = false;
  playing?.tone.stop();
  playing = null;
}

/** Pitch of a value within what has been seen. @example hertzOf(12, 11, 13) // 440 */
export function hertzOf(value: number, lowest: number, highest: number): number {
  const range = Math.max(highest - lowest, leastRange * Math.max(Math.abs(highest), leastRange));
  return lowHertz * 2 ** (octaves * Math.min(Math.max((value - lowest) / range, 0), 1));
}

/** @param value null: over range or no link, and silence */
export function followTone(value: number | null): void {
  if (!playing) return;
  const { tone, volume } = playing;
  const now = tone.context.currentTime;
  if (value === null) {
    volume.gain.setTargetAtTime(0, now, 0.02);
    return;
  }
  low = Math.min(low, value);
  high = Math.max(high, value);
  tone.frequency.setTargetAtTime(hertzOf(value, low, high), now, 0.02);
  volume.gain.setTargetAtTime(0.2, now, 0.02);
}

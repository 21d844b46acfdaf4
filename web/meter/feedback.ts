/** What is heard and felt when a reading is taken: eyes stay on the work. Each can be off; kept in this browser. */
import { effect, signal } from "@preact/signals";

export interface FeedbackWish {
  readonly sound: boolean;
  readonly vibration: boolean;
  readonly speech: boolean;
  /** a live log keeps the bytes of its meter, too */
  readonly bytes: boolean;
}

const key = "loopwalk-live";
const usual: FeedbackWish = { sound: true, vibration: true, speech: false, bytes: false };

export const feedbackWish = signal<FeedbackWish>({ ...usual, ...kept() });

function kept(): Partial<FeedbackWish> {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "{}") as Partial<FeedbackWish>;
  } catch {
    return {};
  }
}

effect(() => localStorage.setItem(key, JSON.stringify(feedbackWish.value)));

let context: AudioContext | null = null;

/** Browsers let a page sound only after it was touched: called from a tap. */
export function wakeSound(): AudioContext | null {
  if (typeof AudioContext === "undefined") return null;
  context ??= new AudioContext();
  if (context.state === "suspended") void context.resume();
  return context;
}

/** One beep after another, as pitch in hertz and seconds. */
function beeps(...notes: readonly (readonly [hertz: number, seconds: number])[]): void {
  const audio = feedbackWish.value.sound ? wakeSound() : null;
  if (!audio) return;
  let at = audio.currentTime + 0.02;
  for (const [hertz, seconds] of notes) {
    const [tone, volume] = [audio.createOscillator(), audio.createGain()];
    tone.frequency.value = hertz;
    volume.gain.setValueAtTime(0.0001, at);
    volume.gain.exponentialRampToValueAtTime(0.4, at + 0.01);
    volume.gain.exponentialRampToValueAtTime(0.0001, at + seconds);
    tone.connect(volume).connect(audio.destination);
    tone.start(at);
    tone.stop(at + seconds);
    at += seconds + 0.04;
  }
}

function shake(pattern: number[]): void {
  if (feedbackWish.value.vibration) navigator.vibrate?.(pattern);
}

export function say(words: string): void {
  if (!feedbackWish.value.speech || typeof speechSynthesis === "undefined") return;
  speechSynthesis.cancel();
  speechSynthesis.speak(new SpeechSynthesisUtterance(words));
}

/** Two rising notes: it is taken, the key may be let go. */
export function sayTaken(words: string): void {
  beeps([660, 0.12], [990, 0.25]);
  shake([80, 60, 160]);
  say(words);
}

/** One low note: something is to be done. */
export function sayTrouble(words: string): void {
  beeps([220, 0.35]);
  shake([300]);
  say(words);
}

/** A short tick: the keyed set is seen. */
export function saySeen(): void {
  beeps([440, 0.06]);
  shake([40]);
}

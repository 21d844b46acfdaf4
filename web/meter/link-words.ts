/** Each way in which a meter's link can stand, in words, with what to do next. */
import type { LiveMeter } from "./live-meter.ts";

export interface LinkWords {
  readonly state: "good" | "waiting" | "bad";
  readonly words: string;
  /** what to do; empty where nothing is to be done */
  readonly next: string;
}

const nothingHeard: Readonly<Record<LiveMeter["stream"]["kind"], string>> = {
  bluetooth: "Wake the meter (a press of a button), and see that its Bluetooth is still on.",
  serial: "See that the meter is on and its link switched on; then speed and framing.",
  server: "See that the meter is on and its link switched on; then speed and framing.",
  replay: "The recording holds a pause here.",
};

export function linkWords(meter: LiveMeter): LinkWords {
  const { kind } = meter.stream;
  switch (meter.link.value) {
    case "opening":
      return { state: "waiting", words: "Connecting …", next: "" };
    case "lost":
      return {
        state: "bad",
        words: "Link lost; it is being sought. What was taken is kept.",
        next:
          kind === "bluetooth"
            ? "Bring the phone nearer to the meter, or wake it. It connects again by itself."
            : kind === "server"
              ? "See that the cable is in and the server runs. It connects again by itself."
              : "Plug the cable in again. It connects again by itself.",
      };
    case "closed":
      return { state: "bad", words: kind === "replay" ? "The recording has ended." : "Not connected.", next: "" };
    case "open":
      if (meter.silent.value) {
        return { state: "bad", words: "Connected, but the meter says nothing: asleep?", next: nothingHeard[kind] };
      }
      if (meter.recipe.value && meter.damaged.value > 20 && meter.damaged.value > meter.good.value) {
        return {
          state: "bad",
          words: "Most of what comes cannot be read.",
          next: "Is it the meter that this recipe was made for? Otherwise teach it.",
        };
      }
      return { state: "good", words: "Connected", next: "" };
  }
}

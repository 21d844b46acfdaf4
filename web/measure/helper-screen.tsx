/** The helper's phone: one word that is read across the cab. */
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { stayAwake } from "../meter/awake.ts";
import { hearKeyWord, type KeyWord } from "../meter/helper-phone.ts";
import { route } from "../routes.ts";

const large: Readonly<Record<KeyWord, string>> = { key: "KEY", release: "RELEASE", wait: "WAIT" };
const small: Readonly<Record<KeyWord, string>> = {
  key: "Press and hold. Nobody near the antenna.",
  release: "Let go.",
  wait: "Do not key.",
};

export function HelperScreen() {
  const room = route.value.query.get("room") ?? "";
  const word = useSignal<KeyWord | null>(null);
  useEffect(() => {
    stayAwake();
    return hearKeyWord(room, (next) => {
      if (next === "key" && word.value !== "key") navigator.vibrate?.([200, 100, 200]);
      if (next === "release") navigator.vibrate?.(500);
      word.value = next;
    });
  }, [room]);
  const now = word.value;
  return (
    <div class={`key-word key-word-${now ?? "lost"}`} role="status">
      <h1>{now ? large[now] : "NO LINK"}</h1>
      <p>{now ? small[now] : "Do not key: the other phone is not heard."}</p>
    </div>
  );
}

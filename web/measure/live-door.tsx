/** The live screen is fetched when it is first opened: who types or opens logs need not wait for it. */
import { useEffect, useState } from "preact/hooks";

type Screen = () => preact.JSX.Element;

export function LiveDoor() {
  const [LiveScreen, setScreen] = useState<{ Screen: Screen } | null>(null);
  const [trouble, setTrouble] = useState(false);
  useEffect(() => {
    import("./live-screen.tsx").then(
      (loaded) => setScreen({ Screen: loaded.LiveScreen }),
      () => setTrouble(true),
    );
  }, []);
  if (trouble) return <p class="notice notice-bad">This part of the app could not be fetched: reload the page.</p>;
  return LiveScreen ? <LiveScreen.Screen /> : <p>Opening …</p>;
}

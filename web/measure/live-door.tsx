/** Screens of live measuring are fetched when they are first opened: who types or opens logs need not wait for them. */
import { useEffect, useState } from "preact/hooks";

type Screen = () => preact.JSX.Element;

export const LiveDoor = () => <Door fetched={() => import("./live-screen.tsx").then(({ LiveScreen }) => LiveScreen)} />;
export const HelperDoor = () => (
  <Door fetched={() => import("./helper-screen.tsx").then(({ HelperScreen }) => HelperScreen)} />
);

function Door({ fetched }: { fetched: () => Promise<Screen> }) {
  const [behind, setBehind] = useState<{ Screen: Screen } | null>(null);
  const [trouble, setTrouble] = useState(false);
  useEffect(() => {
    fetched().then(
      (Screen) => setBehind({ Screen }),
      () => setTrouble(true),
    );
  }, []);
  if (trouble) return <p class="notice notice-bad">This part of the app could not be fetched: reload the page.</p>;
  return behind ? <behind.Screen /> : <p>Opening …</p>;
}

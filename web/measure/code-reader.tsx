/** A recipe's QR code read with the camera, where the browser can read codes by itself. */
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";

interface Detector {
  detect(source: HTMLVideoElement): Promise<readonly { readonly rawValue: string }[]>;
}
type DetectorClass = new (wish: { formats: string[] }) => Detector;

const detectorClass = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
export const canReadCodes = detectorClass !== undefined && navigator.mediaDevices !== undefined;

export function CodeReader({ onText }: { onText: (text: string) => void }) {
  const looking = useSignal(false);
  const trouble = useSignal<string | null>(null);
  return (
    <>
      <p class="field-note">The camera is used for this one code and switched off after it; no picture is kept.</p>
      <button type="button" onClick={() => (looking.value = !looking.value)}>
        {looking.value ? "Stop the camera" : "Read a QR code"}
      </button>
      {trouble.value && <p role="alert">{trouble.value}</p>}
      {looking.value && (
        <Camera
          onText={(text) => {
            looking.value = false;
            onText(text);
          }}
          onTrouble={(words) => {
            looking.value = false;
            trouble.value = words;
          }}
        />
      )}
    </>
  );
}

function Camera({ onText, onTrouble }: { onText: (text: string) => void; onTrouble: (words: string) => void }) {
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => {
    let stream: MediaStream | null = null;
    let timer: ReturnType<typeof setInterval> | undefined;
    const start = async () => {
      try {
        stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      } catch {
        return onTrouble(
          "The camera is not to be had: allow it in the browser’s page settings, or open the recipe as a file.",
        );
      }
      video.current!.srcObject = stream;
      await video.current!.play();
      const detector = new detectorClass!({ formats: ["qr_code"] });
      timer = setInterval(async () => {
        const [code] = await detector.detect(video.current!).catch(() => []);
        if (code) onText(code.rawValue);
      }, 250);
    };
    void start();
    return () => {
      clearInterval(timer);
      for (const track of stream?.getTracks() ?? []) track.stop();
    };
  }, []);
  return <video ref={video} class="camera" muted playsInline aria-label="What the camera sees" />;
}

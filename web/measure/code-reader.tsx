/** A recipe's QR code read with the camera. */
import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";

export const canReadCodes = navigator.mediaDevices !== undefined;

/** What the code in sight says; null: none is in sight. */
type Look = (video: HTMLVideoElement) => Promise<string | null>;

interface Detector {
  detect(source: HTMLVideoElement): Promise<readonly { readonly rawValue: string }[]>;
}
interface DetectorClass {
  new (wish: { formats: string[] }): Detector;
  getSupportedFormats(): Promise<string[]>;
}

/** The browser's own eye where it has one; else one that is loaded now. */
async function eye(): Promise<Look> {
  const own = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
  const formats = (await own?.getSupportedFormats().catch((): string[] => [])) ?? [];
  if (formats.includes("qr_code")) {
    const detector = new own!({ formats: ["qr_code"] });
    return async (video) => (await detector.detect(video).catch(() => []))[0]?.rawValue ?? null;
  }
  const { default: decode } = await import("jsqr");
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true })!;
  return async (video) => {
    const [width, height] = [video.videoWidth, video.videoHeight];
    if (width === 0) return null;
    Object.assign(canvas, { width, height });
    pen.drawImage(video, 0, 0);
    return decode(pen.getImageData(0, 0, width, height).data, width, height)?.data ?? null;
  };
}

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

/** A code full of a recipe has fine squares. */
const wishedCamera = { video: { facingMode: "environment", width: { ideal: 1280 } } };
const noCamera = "The camera is not to be had: allow it in the browser’s page settings, or open the recipe as a file.";

function Camera({ onText, onTrouble }: { onText: (text: string) => void; onTrouble: (words: string) => void }) {
  const video = useRef<HTMLVideoElement>(null);
  useEffect(() => {
    let stream: MediaStream | null = null;
    let timer: ReturnType<typeof setInterval> | undefined;
    let gone = false;
    const stop = () => {
      gone = true;
      clearInterval(timer);
      for (const track of stream?.getTracks() ?? []) track.stop();
    };
    const start = async () => {
      stream = await navigator.mediaDevices.getUserMedia(wishedCamera);
      if (gone) return stop();
      video.current!.srcObject = stream;
      await video.current!.play();
      const look = await eye();
      if (gone) return;
      timer = setInterval(async () => {
        const text = video.current && (await look(video.current));
        if (text && !gone) onText(text);
      }, 250);
    };
    start().catch(() => {
      if (!gone) onTrouble(noCamera);
    });
    return stop;
  }, []);
  return <video ref={video} class="camera" muted playsInline aria-label="What the camera sees" />;
}

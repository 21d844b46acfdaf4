/** A code for cameras: dark on light whatever the theme, with the quiet zone that a camera needs. */
import qrcode from "qrcode-generator";

/** @throws {Error} where the text is too long for one code */
export function QrCode({ text, label, level = "M" }: { text: string; label: string; level?: "L" | "M" }) {
  const code = qrcode(0, level);
  code.addData(text);
  code.make();
  const size = code.getModuleCount();
  const places = Array.from({ length: size * size }, (_, place) => [place % size, Math.floor(place / size)] as const);
  const path = places.filter(([x, y]) => code.isDark(y, x)).map(([x, y]) => `M${x} ${y}h1v1h-1z`);
  return (
    <svg class="qr" viewBox={`-4 -4 ${size + 8} ${size + 8}`} role="img" aria-label={label}>
      <rect x="-4" y="-4" width={size + 8} height={size + 8} class="qr-light" />
      <path d={path.join("")} class="qr-dark" />
    </svg>
  );
}

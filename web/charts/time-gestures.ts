/**
 * Zoom and pan along the time axis of a canvas: wheel and pinch zoom about the finger, a sideways drag pans.
 * Up and down stays the page's own scrolling (the style sheet says touch-action: pan-y).
 */
export interface TimeGestures {
  /** @param factor < 1 zooms in; @param at share of the width, 0 to 1, that stays where it is */
  readonly onZoom: (factor: number, at: number) => void;
  /** @param by share of the width; > 0 towards earlier times */
  readonly onPan: (by: number) => void;
  /** share of the width under the pointer */
  readonly onPoint: (at: number) => void;
}

/** @returns what takes the listeners away */
export function listenForGestures(
  target: HTMLElement,
  area: () => { left: number; width: number },
  gestures: TimeGestures,
): () => void {
  const pointers = new Map<number, number>();
  const share = (clientX: number) => {
    const { left, width } = area();
    return (clientX - target.getBoundingClientRect().left - left) / width;
  };
  const spread = () => {
    const [first, second] = [...pointers.values()];
    return { width: Math.max(Math.abs(first! - second!), 0.01), middle: (first! + second!) / 2 };
  };

  const down = (event: PointerEvent) => {
    pointers.set(event.pointerId, share(event.clientX));
    target.setPointerCapture(event.pointerId);
    gestures.onPoint(share(event.clientX));
  };
  const move = (event: PointerEvent) => {
    const was = pointers.get(event.pointerId);
    const now = share(event.clientX);
    if (was === undefined) return gestures.onPoint(now);
    if (pointers.size === 2) {
      const before = spread();
      pointers.set(event.pointerId, now);
      const after = spread();
      gestures.onZoom(before.width / after.width, after.middle);
      gestures.onPan(after.middle - before.middle);
      return;
    }
    pointers.set(event.pointerId, now);
    gestures.onPan(now - was);
  };
  const up = (event: PointerEvent) => void pointers.delete(event.pointerId);
  const wheel = (event: WheelEvent) => {
    if (!event.ctrlKey && Math.abs(event.deltaX) > Math.abs(event.deltaY))
      return gestures.onPan(-event.deltaX / area().width);
    event.preventDefault();
    gestures.onZoom(Math.exp(Math.max(-60, Math.min(60, event.deltaY)) * 0.004), share(event.clientX));
  };

  target.addEventListener("pointerdown", down);
  target.addEventListener("pointermove", move);
  target.addEventListener("pointerup", up);
  target.addEventListener("pointercancel", up);
  target.addEventListener("wheel", wheel, { passive: false });
  return () => {
    target.removeEventListener("pointerdown", down);
    target.removeEventListener("pointermove", move);
    target.removeEventListener("pointerup", up);
    target.removeEventListener("pointercancel", up);
    target.removeEventListener("wheel", wheel);
  };
}

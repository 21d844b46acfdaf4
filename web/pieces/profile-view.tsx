/**
 * The picture at the centre: the strip of parts and points, and the potential profile on the same axis.
 * Across where there is room for every part side by side, else upright: the circuit runs down the page.
 */
import { useSignalEffect } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import {
  isLoad,
  isPoint,
  type Job,
  type LoopItem,
  type Q,
  type Slot,
  slotsOf,
  staircase,
} from "../../analysis/index.ts";
import type { PotentialProfile, ProfilePicture } from "../charts/potential-profile.ts";

import { wireText } from "../job/wire-size.ts";
import { settings, theme } from "../settings.ts";
import { kindName, partName, pointName } from "../words/plain-words.ts";
import { PartSymbol } from "./part-symbol.tsx";

/** Narrower than this a part's name does not fit under its symbol: then the circuit runs down the page. */
const slotRems = 3.3;
const axisRems = 4;
const rootRem = () => Number.parseFloat(getComputedStyle(document.documentElement).fontSize);

export interface ProfileViewProps {
  readonly job: Pick<Job, "loop">;
  readonly expectedDropOf: (id: string) => Q;
  readonly measuredDropOf?: ((id: string) => Q) | null;
  readonly earlierDropOf?: ((id: string) => Q) | null;
  readonly probedPoints?: ReadonlySet<string>;
  readonly cliff?: { readonly id: string; readonly label: string } | null;
  /** parts that the first finding cannot tell apart */
  readonly suspects?: ReadonlySet<string>;
  readonly chosen?: readonly string[];
  readonly onPoint?: (point: string) => void;
  /** the volts that the two halves of the picture hang on, where they are known */
  readonly batteryWords?: string;
  readonly loadWords?: string;
  /** the picture in a sentence, for those who cannot see it */
  readonly summary: string;
  readonly caption?: ComponentChildren;
}

export function ProfileView(props: ProfileViewProps) {
  const { job, summary, caption } = props;
  const frame = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const profile = useRef<PotentialProfile | null>(null);
  const [size, setSize] = useState({ width: 0, height: 0 });
  const slots = useMemo(() => slotsOf(job), [job]);
  const across = size.width > (slots.length * slotRems + axisRems) * rootRem();

  useLayoutEffect(() => {
    const watch = new ResizeObserver(([entry]) => {
      const { width, height } = entry!.contentRect;
      setSize((now) => (now.width === width && now.height === height ? now : { width, height }));
    });
    watch.observe(frame.current!);
    return () => watch.disconnect();
  }, []);

  useEffect(() => () => profile.current?.destroy(), []);
  // at once, not with the next frame: a print begins as soon as the theme has changed
  useSignalEffect(() => {
    if (theme.value && frame.current) profile.current?.show(pictureOf(props, slots, across, frame.current));
  });

  // drawn with the strip, not a frame later
  useLayoutEffect(() => {
    if (size.width === 0) return;
    let current = true;
    void loadProfile(profile, canvas.current!).then((chart) => {
      if (current && frame.current) chart.show(pictureOf(props, slots, across, frame.current));
    });
    return () => {
      current = false;
    };
  });

  return (
    <figure class={`profile ${across ? "profile-across" : "profile-down"}`} data-theme-drawn={theme.value}>
      <div class="profile-frame" ref={frame}>
        <Strip {...props} slots={slots} across={across} />
        <div class="profile-canvas">
          <canvas ref={canvas} role="img" aria-label={summary} />
        </div>
      </div>
      <figcaption>
        {caption ?? <Key measured={Boolean(props.measuredDropOf)} earlier={Boolean(props.earlierDropOf)} />}
      </figcaption>
    </figure>
  );
}

async function loadProfile(
  kept: { current: PotentialProfile | null },
  canvas: HTMLCanvasElement,
): Promise<PotentialProfile> {
  const { PotentialProfile } = await import("../charts/potential-profile.ts");
  kept.current ??= new PotentialProfile(canvas);
  return kept.current;
}

function pictureOf(
  props: ProfileViewProps,
  slots: readonly Slot[],
  across: boolean,
  frame: HTMLElement,
): ProfilePicture {
  const canvasBox = frame.querySelector(".profile-canvas")!.getBoundingClientRect();
  const places = Array.from(frame.querySelectorAll<HTMLElement>(".slot"), (slot) => {
    const box = slot.getBoundingClientRect();
    return across
      ? { start: box.left - canvasBox.left, end: box.right - canvasBox.left }
      : { start: box.top - canvasBox.top, end: box.bottom - canvasBox.top };
  });
  const axisRoom = places[0]?.start ?? 0;
  const shifted = places.map(({ start, end }) => ({ start: start - axisRoom, end: end - axisRoom }));
  const stair = (dropOf: ((id: string) => Q) | null | undefined) => (dropOf ? staircase(slots, dropOf) : null);
  const indexOf = (id: string, kind: Slot["kind"]) => slots.findIndex((slot) => slot.kind === kind && slot.id === id);
  const pointIndexes = slots.flatMap((slot, index) => (slot.kind === "point" ? [index] : []));
  return {
    across,
    slots: shifted,
    extent: shifted.at(-1)?.end ?? 0,
    axisRoom,
    expected: staircase(slots, props.expectedDropOf),
    measured: stair(props.measuredDropOf),
    earlier: stair(props.earlierDropOf),
    probed: new Set([...(props.probedPoints ?? [])].map((point) => indexOf(point, "point"))),
    pointSlots: new Set(pointIndexes),
    loadSlot: slots.findIndex((slot) => slot.kind === "load"),
    batteryWords: props.batteryWords ?? "",
    loadWords: props.loadWords ?? "",
    cliff: props.cliff ? { slot: indexOf(props.cliff.id, "part"), label: props.cliff.label } : null,
    chosen: (props.chosen ?? []).map((point) => indexOf(point, "point")),
  };
}

function Strip({
  slots,
  across,
  chosen = [],
  onPoint,
  cliff,
  suspects,
}: ProfileViewProps & { slots: readonly Slot[]; across: boolean }) {
  const markOf = (kind: Slot["kind"], id: string) =>
    kind !== "part" ? "" : cliff?.id === id ? "slot-cliff" : cliff && suspects?.has(id) ? "slot-suspect" : "";
  return (
    <ol class="strip" aria-label="The circuit, from battery + round to battery −">
      {slots.map(({ kind, id, leg, item }) => (
        <li key={`${kind} ${id}`} class={`slot slot-${kind} leg-${leg} ${markOf(kind, id)}`}>
          {isPoint(item) && onPoint ? (
            <button type="button" aria-pressed={chosen.includes(item.point)} onClick={() => onPoint(item.point)}>
              <SlotFace item={item} across={across} />
            </button>
          ) : (
            <div class="slot-face">
              <SlotFace item={item} across={across} />
            </div>
          )}
        </li>
      ))}
    </ol>
  );
}

function SlotFace({ item, across }: { item: LoopItem; across: boolean }) {
  return (
    <>
      <PartSymbol item={item} across={across} />
      <span class="slot-name">
        {isPoint(item) ? pointName(item.point) : partName(item)}
        {!isPoint(item) && item.part === "wire" && <small>{wireText(item, settings.value.length)}</small>}
        {!isPoint(item) && item.part === "fuse" && item.ratingAmps && <small>{item.ratingAmps} A</small>}
        {!isPoint(item) && !isLoad(item) && <span class="out-of-sight">, {kindName(item).toLowerCase()}</span>}
      </span>
    </>
  );
}

function Key({ measured, earlier }: { measured: boolean; earlier: boolean }) {
  return (
    <ul class="profile-key">
      <li>
        <span class="key-band" /> should lose (95 of 100)
      </li>
      {measured && (
        <li>
          <span class="key-line" /> does lose, volts against the battery post
        </li>
      )}
      {earlier && (
        <li>
          <span class="key-dots" /> round before
        </li>
      )}
      {measured && (
        <li>
          <span class="key-disc" /> probed <span class="key-ring" /> worked out
        </li>
      )}
    </ul>
  );
}

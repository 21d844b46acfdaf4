/** Two windows changed one job: what does not meet is merged, what meets is named. */
import { describe, expect, it } from "vitest";
import { merge } from "../../../web/storage/merge.ts";

const base = { title: "boat", load: { transmitAmps: 5, idleAmps: 0.5 }, readings: [1, 2] };

describe("merge", () => {
  it("takes changes of both sides, fields within fields too", () => {
    const mine = { ...base, load: { transmitAmps: 6, idleAmps: 0.5 } };
    const theirs = { ...base, title: "pilot boat", load: { transmitAmps: 5, idleAmps: 0.7 } };
    expect(merge(base, mine, theirs)).toEqual({
      value: { title: "pilot boat", load: { transmitAmps: 6, idleAmps: 0.7 }, readings: [1, 2] },
      disputed: [],
    });
  });

  it("names what both changed, and takes mine there", () => {
    const { value, disputed } = merge(base, { ...base, readings: [1, 2, 3] }, { ...base, readings: [1] });
    expect(value.readings).toEqual([1, 2, 3]);
    expect(disputed).toEqual(["readings"]);
  });

  it("lets a field that one side removed stay removed", () => {
    const { value } = merge<{ title: string; note?: string }>(
      { title: "a", note: "b" },
      { title: "a" },
      { title: "c", note: "b" },
    );
    expect(value).toEqual({ title: "c" });
  });
});

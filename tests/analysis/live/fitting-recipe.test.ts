/** Which built-in recipe reads what comes; sentences from reference/open-formats.md, section 2. */
import { describe, expect, it } from "vitest";
import { builtInRecipes, fitOf, fittingRecipe } from "../../../analysis/index.ts";

const heard = (...lines: readonly string[]) =>
  lines.map((line, i) => ({ seconds: i, bytes: new TextEncoder().encode(line) }));

describe("the recipe that reads what comes", () => {
  it.each([
    ["text-lines", ["12.47 V\r\n", "12.46 V\r\n", "0.62 V\r\n"]],
    ["nmea-xdr-V", ["$IIXDR,U,13.0,V,MAIN*5A\r\n", "$IIXDR,U,13.1,V,MAIN*5B\r\n"]],
  ])("%s", (id, lines) => {
    expect(fittingRecipe(builtInRecipes, heard(...lines))?.id).toBe(id);
  });

  it("is none for noise, and none for nothing", () => {
    const noise = Array.from({ length: 40 }, (_, i) => ({ seconds: i, bytes: Uint8Array.of((i * 97) & 255, 10) }));
    const lines = builtInRecipes.filter(({ recipe }) => recipe.framing.kind !== "packet");
    expect(fittingRecipe(lines, noise)).toBeNull();
    expect(fittingRecipe(builtInRecipes, [])).toBeNull();
  });

  it("counts what it read and what was damaged", () => {
    const { recipe } = builtInRecipes.find(({ id }) => id === "nmea-xdr-V")!;
    const lines = heard("$IIXDR,U,13.0,V,MAIN*5A\r\n", "$IIXDR,U,13.0,V,MAIN*5B\r\n", "$IIXDR,U,13.1,V,MAIN*5B\r\n");
    expect(fitOf(recipe, lines)).toEqual({ good: 2, damaged: 1, last: { value: 13.1, unit: "V" } });
  });
});

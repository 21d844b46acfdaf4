/** Bytes of a meter to readings: with a recipe that is named or given, else with the built-in one that reads what comes. */
import {
  builtInRecipes,
  checkRecipe,
  fittingRecipe,
  Problem,
  type Reading,
  type Recipe,
  StreamReader,
} from "../../analysis/index.ts";

interface Chunk {
  readonly seconds: number;
  readonly bytes: Uint8Array;
}

export interface MeterReader {
  /** what to send, and how often, where the meter only answers */
  readonly ask: { readonly bytes: Uint8Array; readonly everySeconds: number } | null;
  read(chunk: Chunk): Reading[];
}

/** What came before a recipe was found: so much is looked at. */
const chunksAtMost = 400;

/**
 * @param wish name of a built-in recipe, or a recipe as JSON
 * @throws {Problem} in a sentence, where it is neither
 */
export function meterReader(wish: string | undefined): MeterReader {
  return wish === undefined ? finding() : reading(recipeOf(wish));
}

function recipeOf(wish: string): Recipe {
  const known = builtInRecipes.find(({ id }) => id === wish);
  if (known) return known.recipe;
  if (wish.startsWith("{")) return checkRecipe(parsed(wish));
  const names = builtInRecipes.map(({ id }) => id).join(", ");
  throw new Problem(`should be one of ${names}, or a recipe as JSON; got ${wish.slice(0, 60)}`, { field: "recipe" });
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    throw new Problem("should be a recipe as JSON; it is no JSON", { field: "recipe" });
  }
}

function reading(recipe: Recipe): MeterReader {
  const stream = new StreamReader(recipe);
  const { ask } = recipe;
  return {
    ask: ask ? { bytes: Buffer.from(ask.base64, "base64"), everySeconds: ask.everySeconds } : null,
    read: (chunk) => stream.push(chunk),
  };
}

/** Only what a meter sends by itself over a line can be found so: not what must be asked, not Bluetooth's packets. */
function finding(): MeterReader {
  const candidates = builtInRecipes.filter(({ recipe }) => !recipe.ask && recipe.framing.kind !== "packet");
  const heard: Chunk[] = [];
  let found: MeterReader | null = null;
  return {
    ask: null,
    read(chunk) {
      if (found) return found.read(chunk);
      heard.push(chunk);
      if (heard.length > chunksAtMost) heard.shift();
      const fitting = fittingRecipe(candidates, heard);
      if (!fitting) return [];
      found = reading(fitting.recipe);
      return heard.splice(0).flatMap((earlier) => found!.read(earlier));
    },
  };
}

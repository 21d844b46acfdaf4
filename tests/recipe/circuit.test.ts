/**
 * The recipe's circuit against Ohm's and Kirchhoff's laws worked by hand (no outside figures): a plain pair to the
 * battery is one loop, so its current follows from one equation. Tolerance: a microvolt, where a meter shows a millivolt.
 */
import { describe, expect, it } from "vitest";
import { solveModes } from "../fixtures/recipe/circuit.ts";
import { type Condition, soundCondition } from "../fixtures/recipe/condition.ts";
import { drawInstallation, type Installation, nodeOf } from "../fixtures/recipe/install.ts";
import { legOf, partsOf } from "../fixtures/recipe/loop-item.ts";
import { Random } from "../fixtures/recipe/random.ts";
import { drawSource } from "../fixtures/recipe/source.ts";

const microvolt = 1e-6;

function drawn(seed: number, layout: "fused-pair" | "trailer" | "chassis-return"): [Installation, Condition] {
  for (let attempt = 0; ; attempt++) {
    const random = new Random(seed * 1000 + attempt);
    const installation = drawInstallation(random, { layout, undersized: false, oddities: false });
    if (installation !== null)
      return [installation, soundCondition(random, installation, drawSource(random, installation))];
  }
}

/** E − (I + other) · r = V + I · ΣR with I = law(V): bisection on the load's volts. */
function loopByHand(installation: Installation, condition: Condition): { loadVolts: number; amps: number } {
  const { source } = condition;
  const ohms = partsOf(installation.loop).reduce((sum, part) => sum + condition.ohms[part.id]!, 0);
  const rated = installation.load.transmitAmps * condition.transmitFactor;
  const law = (volts: number) => rated * (volts / installation.load.ratedVolts) ** condition.loadExponent;
  let [low, high] = [6, 14];
  for (let i = 0; i < 80; i++) {
    const volts = (low + high) / 2;
    const amps = law(volts);
    const given = source.restVolts - source.fastOhms * (amps + source.otherAmps) - amps * ohms;
    if (given > volts) low = volts;
    else high = volts;
  }
  return { loadVolts: low, amps: law(low) };
}

describe("the simulated loop", () => {
  it("agrees with the loop equation worked by hand on thirty loops", async () => {
    let worstVolts = 0;
    let worstAmps = 0;
    for (let seed = 1; seed <= 30; seed++) {
      const [installation, condition] = drawn(seed, seed % 2 === 0 ? "fused-pair" : "trailer");
      const { base } = (await solveModes(installation, condition, ["off/transmit"])).get("off/transmit")!;
      const byHand = loopByHand(installation, condition);
      const at = (point: string) => base.nodeVolts[nodeOf(installation.loop, point)]!;
      worstVolts = Math.max(worstVolts, Math.abs(at("load+") - at("load-") - byHand.loadVolts));
      for (const amps of Object.values(base.partAmps)) worstAmps = Math.max(worstAmps, Math.abs(amps - byHand.amps));
    }
    console.log(
      `simulator against the loop equation: worst ${worstVolts.toExponential(1)} V, ${worstAmps.toExponential(1)} A`,
    );
    expect(worstVolts).toBeLessThan(microvolt);
    expect(worstAmps).toBeLessThan(1e-4);
  });

  it("gives back in the return leg what the supply leg carried, and the rest by the stray way", async () => {
    let worst = 0;
    for (let seed = 1; seed <= 10; seed++) {
      const [installation, sound] = drawn(seed, "fused-pair");
      const back = partsOf(installation.loop).filter((part) => legOf(installation.loop, part.id) === "return");
      const backOhms = back.reduce((sum, part) => sum + sound.ohms[part.id]!, 0);
      const condition = { ...sound, strayOhms: backOhms };
      const { base } = (await solveModes(installation, condition, ["off/transmit"])).get("off/transmit")!;
      const out = base.partAmps[partsOf(installation.loop)[0]!.id]!;
      for (const part of back) worst = Math.max(worst, Math.abs(base.partAmps[part.id]! / out - 0.5));
    }
    console.log(`a stray way as good as the return leg takes half: worst share error ${worst.toExponential(1)}`);
    expect(worst).toBeLessThan(1e-5);
  });

  it("sends charging current back through a strap when the engine is bonded to the body alone", async () => {
    const [installation, sound] = drawn(3, "chassis-return");
    const source = {
      ...sound.source,
      engineCableOhms: null,
      engineStrapOhms: 0.001,
      sharedShare: 0,
      regulatorVolts: 14.2,
    };
    const condition = { ...sound, source, chargeAmps: 25 };
    const solved = await solveModes(installation, condition, ["off/idle", "running/idle"]);
    const strap = partsOf(installation.loop).at(-1)!.id;
    expect(solved.get("off/idle")!.base.partAmps[strap]).toBeGreaterThan(0);
    expect(solved.get("running/idle")!.base.partAmps[strap]).toBeLessThan(-10);
  });
});

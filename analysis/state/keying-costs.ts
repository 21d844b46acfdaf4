/** What it costs to explain a log by keying, where it does not fit. */

/** Costs are in natural-log units (half a chi square); all by judgement, held to what the bench shows. */
export const costs = {
  /** a step that is no keying: another load, the engine, the charging */
  otherStep: 6,
  /** a stretch taken as keyed whose level does not fit */
  misfit: 8,
  /** the same where it does not stand out at all */
  noRise: 16,
  /** the same where it stands higher: a contact may have given way */
  shifted: 2,
  /** of a set whose current follows the voice: it stands out of the idle level */
  voice: 0.3,
  /** the same where it stands still for long */
  tone: 2,
  /** share of that which a step within a transmission costs, and one that looks like its end */
  innerStep: 0.25,
  innerEnd: 1.3,
  innerAgain: 0.8,
  transmission: 1.5,
  /** nothing that tells was seen of a transmission */
  unheard: 20,
  tooShort: 2,
  cutOff: 1.5,
  /** an idle level as high as a keyed one */
  idleLevel: 2,
  /** the same of a clamp, where the load's currents are declared */
  idleAmps: 8,
  /** a transmission that begins or ends slowly */
  slow: 5,
} as const;

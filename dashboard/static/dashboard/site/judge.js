/* The judgements this phone can make by itself, by the limits the office told it. Of other kinds it has none: the
   office answers when it has the readings. */

import { limits } from "../calc/inputs.js";
import { KINDS } from "../calc/kinds.js";
import { BadInput } from "../calc/verdict.js";
import { filled } from "./filled.js";
import { _, say } from "./says.js";
import { said } from "./verdict_words.js";

/**
 * @param {object} opening as the day tells it
 * @param {object} sheet of it
 * @param {object} given put together from what was entered
 * @returns {{verdict?: object, headline: string, said: string[], marked: [number, number][]} | null} `marked`: in nm
 *   along the sill, where the floor rises too much; null where nothing can be said here
 */
export function judge(opening, sheet, given) {
  const told = opening.judging[`${sheet.kind}/${sheet.occasion}`], kind = KINDS[sheet.kind];
  if (told === undefined || kind === undefined) return null;
  try {
    const verdict = kind.judge(filled(sheet.kind, given, told), limits(told.limits, kind.LIMITS, "mm"));
    const { headline, beyond } = said(verdict, sheet.unit, { zone: opening.zone });
    return { verdict, headline, said: beyond, marked: marked(verdict) };
  } catch (why) {
    if (!(why instanceof BadInput)) throw why;
    return { headline: say("cannot be read"), said: [`${why.field}: ${_(why.right)}`], marked: [] };
  }
}

function marked({ findings }) {
  return findings.filter(({ within, where }) => within === false && where.from_mm !== undefined
    && where.to_mm !== undefined)
    .map(({ where }) => [where.from_mm, where.to_mm].map(mm => Math.round(Number(mm) * 1e6)));
}

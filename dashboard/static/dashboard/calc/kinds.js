/* The sums this phone can do by itself, by the name the office has for each. */

import * as floor from "./floor.js";
import * as frame from "./frame.js";
import * as opening from "./opening.js";
import * as reveal from "./reveal.js";
import * as sealing from "./sealing.js";

export const KINDS = Object.fromEntries([floor, opening, frame, reveal, sealing].map(sum => [sum.NAME, sum]));

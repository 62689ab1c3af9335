/** The words for levels, rails and verdicts as they stand in a journal line. */
import { z } from "zod";

export const railName = z.enum(["heater", "bias", "plate"]);
export const drivenLevel = z.enum(["low", "high"]);
export const levelClass = z.enum(["low", "between", "high"]);
export const result = z.enum(["pass", "conditional pass", "conditional fail", "fail", "void"]);
export const noReadingReason = z.enum([
  "clipped",
  "torn",
  "stale",
  "lead not proved",
  "link lost",
  "reference doubtful",
]);
export const verdict = z.enum([
  "pass",
  "conditional pass",
  "conditional fail",
  "fail",
  "void",
  "not tested",
]);

/** Runs of one second are told apart by a number at the end of their names: 10 comes after 9. */
import { type RawBuilder, sql } from "kysely";

/** What goes before the name where runs stand in order of time. */
export const nameLength: RawBuilder<number> = sql<number>`length("runs"."run")`;

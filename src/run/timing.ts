/** How long the run machines wait for what, in ms. Each deadline is far above what it guards. */

/** Rest between two looks of the supervision at the rails. */
export const heartbeatMs = 100;
/** In a soak, where nothing but lines moves: one beat may be lost before the dead-man's 600 ms are over. */
export const soakHeartbeatMs = 250;
/** Good beats follow each other for so long before supervision's deadline is wound up anew. */
export const beatsRoundMs = 4000;
/** Rest before a suspect look is repeated; the controller's own trip also wants two in a row. */
export const confirmMs = 10;
/** A look at the rails goes into the journal about this often. */
export const watchEveryMs = 1000;
/** Longest wait for one request to the bench: settings and readings of a few channels. */
export const benchDeadlineMs = 2000;
/**
 * A state of a machine that only asks the bench for a few things may last this long. Longer than a beat may take: a
 * hold-up of this computer that is too short to be told from a slow beat is no hang of the work under way.
 */
export const stateDeadlineMs = 6000;
/** Longest wait for a rail scan or a feed; the dead-man strikes before. */
export const heartbeatDeadlineMs = 1000;
/** Longest beat of supervision while the program runs: currents, a scan, a feed and a rest, on the slowest link. */
export const beatMsMax = 4000;
/** Rest between two looks at a rail that is coming up. */
export const gatePollMs = 20;
/**
 * Rest between two looks at a rail that is falling: short at first, so that even a quick decay shows
 * its middle (a scan of the controller takes about 4 ms), longer once the rail has shown to be slow.
 */
export const fallPollMsMin = 2;
export const fallPollMsMax = 20;
/** For this long after the order, looks over a slow link follow each other without rest. */
export const fallAtOnceMs = 400;
/** A running hold says where it is this often. */
export const holdProgressEveryMs = 5000;
/** Shortest rest inside a loop, so that timers and input are never starved. */
export const leastRestMs = 1;
/** A soak seals what it counted this often: what a power cut can take with it. */
export const soakTurnMs = 20_000;
/** Looks of a soak at its rails go into the journal this often: a night of them is long. */
export const soakWatchEveryMs = 60_000;
/** Currents of rails with a shunt are looked at this often. */
export const currentEveryMs = 500;
/** Hand mode looks at every net and line this often. */
export const handReadEveryMs = 250;
/** Rest between two turns of a loop while frozen: an oscilloscope's screen stands still at that. */
export const freezeTurnRestMs = 20;
/** Longest look at the rig itself before anything is switched: half a second of every channel, all of them restless. */
export const surveyMsMax = 15_000;
/** One contact of a rig check: operated, read, released, with its line driven for it where it is a load. */
export const contactMsMax = 1500;
/** Dead-man time and ordered off stay below 1 s; how long a test of it waits, with a look to spare. */
export const deadManTestMs = 3000;
/** On top of what the rails may take to fall before the way to safe outputs is given up. */
export const safeOffSlackMs = 15_000;

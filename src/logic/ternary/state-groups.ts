/** Strongly connected groups of a graph of states. */

/**
 * Groups of states that can all reach each other, those that others lead to first.
 *
 * @param graph targets of state s are `targets[first[s]]` up to, not including, `targets[first[s + 1]]`
 * @source R. E. Tarjan, Depth-first search and linear graph algorithms, SIAM J. Computing 1(2), 1972 (from
 *   memory); without recursion, as paths are as long as there are states
 */
export function stateGroups(graph: {
  readonly first: ArrayLike<number>;
  readonly targets: ArrayLike<number>;
}): number[][] {
  const { first, targets } = graph;
  const count = first.length - 1;
  const visitOf = new Int32Array(count).fill(-1);
  const lowest = new Int32Array(count);
  const isWaiting = new Uint8Array(count);
  const next = new Int32Array(count);
  const waiting: number[] = [];
  const path: number[] = [];
  const groups: number[][] = [];
  let visits = 0;
  const enter = (state: number) => {
    visitOf[state] = visits;
    lowest[state] = visits;
    visits += 1;
    next[state] = first[state] as number;
    waiting.push(state);
    isWaiting[state] = 1;
    path.push(state);
  };
  for (let root = 0; root < count; root++) {
    if (visitOf[root] !== -1) continue;
    enter(root);
    while (path.length > 0) {
      const state = path[path.length - 1] as number;
      const at = next[state] as number;
      if (at < (first[state + 1] as number)) {
        next[state] = at + 1;
        const target = targets[at] as number;
        if (visitOf[target] === -1) enter(target);
        else if (isWaiting[target] === 1)
          lowest[state] = Math.min(lowest[state] as number, visitOf[target] as number);
        continue;
      }
      path.pop();
      const below = path[path.length - 1];
      if (below !== undefined)
        lowest[below] = Math.min(lowest[below] as number, lowest[state] as number);
      if (lowest[state] === visitOf[state]) {
        const group = waiting.splice(waiting.lastIndexOf(state));
        for (const member of group) isWaiting[member] = 0;
        groups.push(group);
      }
    }
  }
  return groups;
}

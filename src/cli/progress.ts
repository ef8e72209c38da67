// What `trial` and `prove` say while they work: how far they are.

/** On a terminal one line that is written over; elsewhere a line for every tenth. Standard error, so that a pipe stays clean. */
export function progress(what: string): (done: number, all: number, now: string) => void {
  let tenths = 0;
  return (done, all, now) => {
    if (process.stderr.isTTY) {
      process.stderr.write(`\r${done} of ${all} ${what}  ${now}`.padEnd(78).slice(0, 78));
      if (done === all) process.stderr.write('\n');
      return;
    }
    const reached = Math.floor((10 * done) / all);
    if (reached <= tenths) return;
    tenths = reached;
    process.stderr.write(`${done} of ${all} ${what}\n`);
  };
}

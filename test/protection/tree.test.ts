import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { causesOf, lossOf } from '../../src/protection/causes.ts';
import { hazardsOf } from '../../src/protection/hazards.ts';
import { protectionOf } from '../../src/protection/report.ts';
import { cutsOf, type TreeNode, treeOf } from '../../src/protection/tree.ts';
import type { Plant } from '../../src/station/plant.ts';
import { independent, PLANTS, wired } from './stations.ts';

const marram = PLANTS[0]?.[1] as Plant;

/** Does the top event come about? By the meaning of the gates alone. */
function happens(node: TreeNode, failed: ReadonlySet<string>): boolean {
  if (!('children' in node)) return failed.has(node.event);
  const each = (child: TreeNode) => happens(child, failed);
  return node.kind === 'any' ? node.children.some(each) : node.children.every(each);
}

const leaves = (node: TreeNode): string[] =>
  'children' in node ? node.children.flatMap(leaves) : [node.event];

/** Minimal sets of one and of two, by trying each. */
function tried(tree: TreeNode): string[] {
  const events = [...new Set(leaves(tree))];
  const ones = events.filter((event) => happens(tree, new Set([event])));
  const left = events.filter((event) => !ones.includes(event));
  const twos = left.flatMap((one, at) =>
    left.slice(at + 1).flatMap((other) => (happens(tree, new Set([one, other])) ? [[one, other]] : [])),
  );
  return [...ones.map((one) => [one]), ...twos].map((set) => set.toSorted().join(' & ')).toSorted();
}

function computed(plant: Plant, tree: TreeNode): string[] {
  const { ones, twos } = cutsOf(plant, tree);
  return [...ones, ...twos]
    .map((set) =>
      set
        .map(({ event }) => event)
        .toSorted()
        .join(' & '),
    )
    .toSorted();
}

describe('The minimal cut sets', () => {
  it.each(PLANTS)('of %s, of one and of two, are those that trying every pair finds', (_, plant) => {
    const causes = causesOf(plant);
    for (const hazard of hazardsOf(plant)) {
      const tree = treeOf(plant, hazard, causes);
      if (tree !== null) expect(computed(plant, tree), hazard.title).toEqual(tried(tree));
    }
  });

  it('are so however the devices are wired; and what takes every barrier away is a set of its own', () => {
    const ids = [...Object.keys(marram.actuators), ...Object.keys(marram.sensors)];
    const boards = fc.array(fc.constantFrom('a', 'b', 'c', null), {
      minLength: ids.length,
      maxLength: ids.length,
    });
    fc.assert(
      fc.property(boards, (board) => {
        const plant = wired(marram, (id) => board[ids.indexOf(id)] ?? null);
        const causes = causesOf(plant);
        for (const hazard of hazardsOf(plant)) {
          const tree = treeOf(plant, hazard, causes);
          if (tree === null) continue;
          expect(computed(plant, tree)).toEqual(tried(tree));
          const alone = cutsOf(plant, tree).ones.map(([leaf]) => leaf?.event);
          for (const cause of causes)
            expect(alone.includes(cause.id), `${cause.name}: ${hazard.title}`).toBe(
              lossOf(plant, cause, hazard)?.left === 0,
            );
        }
      }),
      { numRuns: 25, seed: 20_261 },
    );
  });
});

describe('Common causes', () => {
  const warned = (plant: Plant) => protectionOf(plant).warnings.map(({ words }) => words);

  it('of a station with everything on one relay board take every barrier away, and the report warns of it', () => {
    const [words, ...more] = warned(wired(independent(marram), () => 'the one board')).filter((each) =>
      each.startsWith('Failure domain "the one board"'),
    );
    expect(more).toEqual([]);
    for (const lost of ['Fresh vat: runs over', 'Mixing vat: runs over', 'Transfer pump: runs dry'])
      expect(words).toContain(lost);
    // The cut-out is no part of the board.
    expect(words).not.toContain('Mixing vat: too hot');
    expect(words).toContain('Inlet valve stays open + Master shut-off stays open');
  });

  it('are none where nothing is shared, but for what the file can not say of the mains', () => {
    const plant = independent(marram);
    expect(causesOf(plant).filter(({ kind }) => !['upstream', 'broker', 'mains'].includes(kind))).toEqual([]);
    expect(warned(plant)).toEqual([
      expect.stringMatching(/^Mains power .* none of these valves closes by itself/u),
    ]);
  });

  it('of a switch and its contactor on one board are warned of, and of no other hazard', () => {
    const both = ['supply-pump', 'pump-contactor'];
    const [words] = warned(wired(independent(marram), (id) => (both.includes(id) ? 'x' : null)));
    expect(words).toContain('sump: runs over (Supply pump runs on + Pump contactor stays closed)');
    expect(words).not.toContain('Fresh vat');
    expect(words).not.toContain('too hot');
  });

  it('are adapters and messages that speak for several sensors', () => {
    const share = (part: object): Plant => {
      const plant = independent(marram);
      const { 'fresh-high': high, 'fresh-overflow': over, 'fresh-level': level } = plant.sensors;
      if (!high || !over || !level) throw new Error('Marram Point has lost a sensor');
      const sensors = {
        'fresh-high': { ...high, ...part },
        'fresh-overflow': { ...over, ...part },
        'fresh-level': { ...level, ...part },
      };
      return { ...plant, sensors: { ...plant.sensors, ...sensors } };
    };
    const availability = [
      { topic: 'gate/status', at: null, online: ['up'], offline: ['down'], holds: false },
    ];
    expect(warned(share({ availability }))[0]).toMatch(
      /^Adapter with the availability gate\/status: .*Fresh vat: runs over/u,
    );
    expect(warned(share({ topic: 'gate/all' }))[0]).toMatch(
      /^Messages on gate\/all: .*Fresh vat: runs over/u,
    );
  });

  it('are broker and computer only where nobody counts the leases', () => {
    const broker = (plant: Plant) => protectionOf(plant).causes.find(({ kind }) => kind === 'broker');
    expect(broker(marram)?.losses).toEqual([]);
    const endless = {
      ...marram,
      actuators: Object.fromEntries(
        Object.entries(marram.actuators).map(([id, actuator]) => [id, { ...actuator, countsLease: false }]),
      ),
    };
    expect(
      broker(endless)
        ?.losses.filter(({ left }) => left === 0)
        .map(({ title }) => title),
    ).toContain('Mixing vat: runs over');
    expect(broker(endless)?.words).toContain('Nobody counts the lease of Master shut-off');
  });

  it('take a single failure that is enough anyway for no work of theirs', () => {
    const [, plant] = PLANTS[1] as (typeof PLANTS)[number];
    const alone = ['supply-pump', 'drain-pump'];
    const [words] = warned(wired(independent(plant), (id) => (alone.includes(id) ? 'x' : null)));
    expect(words).toMatch(/^Mains power/u);
  });
});

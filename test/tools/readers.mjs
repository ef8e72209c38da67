// Readers in a process of their own, so that what they do with the answers is not the service's time. Each one begins anew
// as soon as it is done; what came of them is told at the end.
const { url, cookies, paths, forMs } = JSON.parse(process.argv[2] ?? '{}');
const told = { bytes: 0, answers: 0, pieces: 0, refused: 0, broken: 0, served: 0, slowestMs: 0 };
const ends = AbortSignal.timeout(forMs);

async function read(cookie, path) {
  const beganMs = performance.now();
  const response = await fetch(url + path, { headers: { cookie }, signal: ends });
  for await (const piece of response.body) {
    told.bytes += piece.length;
    told.pieces += 1;
  }
  if (response.ok) told.answers += 1;
  else {
    told.refused += 1;
    await new Promise((done) => setTimeout(done, 1_000));
  }
  told.slowestMs = Math.max(told.slowestMs, performance.now() - beganMs);
}

async function reader(cookie) {
  const bytes = told.bytes;
  await Promise.all(
    paths.map(async (path) => {
      while (!ends.aborted) {
        try {
          await read(cookie, path);
        } catch {
          if (!ends.aborted) told.broken += 1;
        }
      }
    }),
  );
  if (told.bytes > bytes) told.served += 1;
}

await Promise.all(cookies.map(reader));
process.stdout.write(JSON.stringify(told), () => process.exit(0));

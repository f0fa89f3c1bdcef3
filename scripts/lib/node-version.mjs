// Says plainly when Node is too old, before anything that needs a newer one is touched.
const [major, minor] = process.versions.node.split('.').map(Number);
if (major < 20 || (major === 20 && minor < 19)) {
  process.stderr.write(`Everyroom needs Node 20.19 or newer; this is ${process.versions.node}.\n`);
  process.exit(1);
}

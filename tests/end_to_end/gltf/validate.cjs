// Validates a glTF file with the Khronos validator and prints one line:
//     errors N warnings N infos N hints N draws N triangles N
// followed by one line for each message. Exits 1 unless there is no error and no warning.
const fs = require('fs');
const validator = require('gltf-validator');

validator
  .validateBytes(new Uint8Array(fs.readFileSync(process.argv[2])), { maxIssues: 20 })
  .then((report) => {
    const n = report.issues;
    console.log(
      `errors ${n.numErrors} warnings ${n.numWarnings} infos ${n.numInfos} hints ${n.numHints} ` +
        `draws ${report.info.drawCallCount} triangles ${report.info.totalTriangleCount}`
    );
    for (const m of n.messages) console.log(`${m.code} ${m.pointer || ''} ${m.message}`);
    process.exit(n.numErrors || n.numWarnings ? 1 : 0);
  })
  .catch((error) => {
    console.error(String(error));
    process.exit(2);
  });

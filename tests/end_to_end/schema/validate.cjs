// Validates documents against a JSON Schema, made strict: a member that the schema does not tell of
// is an error here, so that none is written that is not in it.
//     validate.cjs SCHEMA FILE...
// Prints what is wrong, a line each, and exits 1 if anything is.
//
// Source: JSON Schema 2020-12, by ajv.
const fs = require('fs');
const Ajv = require('ajv/dist/2020');

const [schemaFile, ...files] = process.argv.slice(2);
const read = (file) => JSON.parse(fs.readFileSync(file, 'utf8'));

function close(schema) {
  if (!schema || typeof schema !== 'object') return schema;
  for (const part of Object.values(schema)) close(part);
  if (schema.type === 'object' && schema.properties) schema.additionalProperties = false;
  return schema;
}

const open = read(schemaFile);
const ajv = new Ajv({ allErrors: true });
if (!ajv.validateSchema(open)) throw new Error(`${schemaFile}: ${ajv.errorsText()}`);
const validate = ajv.compile(close(open));
let wrong = 0;
for (const file of files)
  if (!validate(read(file)))
    for (const e of validate.errors) {
      console.log(`${file}: ${e.instancePath} ${e.message} ${JSON.stringify(e.params)}`);
      wrong++;
    }
process.exit(wrong ? 1 : 0);

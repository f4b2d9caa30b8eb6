// A PouchDB server on LevelDB, and a page of its own origin that PouchDB runs in. Prints its port.
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const { createRequire } = require('node:module');

const modules = process.argv[2];
const need = createRequire(path.join(modules, 'x.js'));
const express = need('express');
const PouchDB = need('pouchdb');
const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'peer-')) + path.sep;
process.chdir(folder);
const app = express();
app.get('/page', (_, answer) => answer.type('html').send('<!doctype html><title>peer</title>'));
app.use('/lib', express.static(path.join(modules, 'pouchdb', 'dist')));
app.use('/db', need('express-pouchdb')(PouchDB.defaults({ prefix: folder }), {
  configPath: path.join(folder, 'config.json'), logPath: path.join(folder, 'log.txt'),
}));
const server = app.listen(0, '127.0.0.1', () => console.log(server.address().port));
process.stdin.on('end', () => process.exit()).resume();

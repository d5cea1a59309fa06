// Authorities and certificates made by openssl, for a day.
'use strict';
const { execFileSync } = require('node:child_process');
const path = require('node:path');

const openssl = (...args) => execFileSync('openssl', args, { stdio: ['ignore', 'pipe', 'pipe'] });
const KEY = ['-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:prime256v1', '-nodes'];

function makeAuthority(folder, name) {
  const key = path.join(folder, `${name}.key`);
  const cert = path.join(folder, `${name}.pem`);
  openssl('req', '-x509', ...KEY, '-keyout', key, '-out', cert, '-days', '1', '-subj', `/CN=${name}`, '-addext', 'keyUsage=critical,keyCertSign');
  return { key, cert };
}

// names: as in subjectAltName, "IP:127.0.0.1".
function makeCertificate(folder, authority, name, names, days = 1) {
  const key = path.join(folder, `${name}.key`);
  const request = path.join(folder, `${name}.csr`);
  const cert = path.join(folder, `${name}.pem`);
  openssl('req', ...KEY, '-keyout', key, '-out', request, '-subj', `/CN=${name}`, '-addext', `subjectAltName=${names}`);
  openssl('x509', '-req', '-in', request, '-CA', authority.cert, '-CAkey', authority.key, '-CAcreateserial', '-days', String(days),
    '-copy_extensions', 'copy', '-out', cert);
  return { key, cert };
}

module.exports = { makeAuthority, makeCertificate };

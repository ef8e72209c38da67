// Which troubles are final (R17), and what a person can do about each. A final one ends the service with a clear word:
// trying a wrong password for ever locks accounts and fills logs, and helps nobody.

export interface Verdict {
  readonly final: boolean;
  /** What happened and the mend, one sentence or two. */
  readonly words: string;
}

/** The service can't go on and a person must do something. */
export class LinkRefused extends Error {
  override readonly name = 'LinkRefused';
}

interface Row {
  readonly final: boolean;
  readonly words: string;
}

const PASSWORD: Row = {
  final: true,
  words:
    'the broker refuses this user name or password: check --username and the file given with --password-file',
};
const FORBIDDEN: Row = {
  final: true,
  words: "the broker does not let this user in: check the broker's access list and --username",
};
const CLIENT_ID: Row = {
  final: true,
  words: "the broker refuses the client id: let it accept 'vatwarden-' followed by the station's id",
};
const VERSION_5: Row = {
  final: true,
  words:
    'the broker does not speak MQTT 5: use one that does, or say --mqtt 3.1.1 and accept that the broker can not drop ' +
    'commands that have become too old',
};
const VERSION_4: Row = { final: true, words: 'the broker does not speak MQTT 3.1.1: leave --mqtt 3.1.1 out' };
const BUSY: Row = { final: false, words: 'the broker is not available just now' };
const ELSEWHERE: Row = { final: true, words: 'the broker names another server: give that one with --broker' };

/** CONNACK return codes, MQTT 3.1.1 table 3.1 (1 to 5), and reason codes, MQTT 5 section 3.2.2.2. */
const CONNACK: Readonly<Record<number, Row>> = {
  2: CLIENT_ID,
  3: BUSY,
  4: PASSWORD,
  5: FORBIDDEN,
  132: VERSION_5,
  133: CLIENT_ID,
  134: PASSWORD,
  135: FORBIDDEN,
  136: BUSY,
  137: BUSY,
  138: { final: true, words: 'the broker has banned this client: ask whoever runs it' },
  140: {
    final: true,
    words: 'the broker wants an authentication that Vatwarden does not know: use a password or a certificate',
  },
  144: {
    final: true,
    words: "the broker refuses the will's topic: let this user write vatwarden/<station>/online",
  },
  149: { final: true, words: 'the broker calls the greeting too large: raise its packet size limit' },
  151: BUSY,
  154: {
    final: true,
    words:
      'the broker does not support retained messages, and without them nobody sees whether the service is online',
  },
  155: { final: true, words: 'the broker does not support QoS 1, and commands need it' },
  156: ELSEWHERE,
  157: ELSEWHERE,
  159: BUSY,
};

const NAME: Row = {
  final: true,
  words:
    "the broker's certificate is for another name: use the name that stands in the certificate with --broker",
};
const AUTHORITY: Row = {
  final: true,
  words:
    "the broker's certificate is signed by nobody known here: give the authority's certificate with --ca",
};
const OWN_CERTIFICATE: Row = {
  final: true,
  words: "the broker wants or refuses this client's certificate: check --cert and --key",
};

const CODES: Readonly<Record<string, Row>> = {
  ERR_TLS_CERT_ALTNAME_INVALID: NAME,
  SELF_SIGNED_CERT_IN_CHAIN: AUTHORITY,
  DEPTH_ZERO_SELF_SIGNED_CERT: AUTHORITY,
  UNABLE_TO_VERIFY_LEAF_SIGNATURE: AUTHORITY,
  UNABLE_TO_GET_ISSUER_CERT: AUTHORITY,
  UNABLE_TO_GET_ISSUER_CERT_LOCALLY: AUTHORITY,
  CERT_SIGNATURE_FAILURE: AUTHORITY,
  CERT_HAS_EXPIRED: {
    final: true,
    words: "the broker's certificate has expired: renew it (and check this computer's date)",
  },
  // A small computer without a battery wakes up in the past, and its time server corrects it a minute later.
  CERT_NOT_YET_VALID: {
    final: false,
    words: "the broker's certificate is not valid yet: is this computer's date right?",
  },
  ERR_SSL_WRONG_VERSION_NUMBER: {
    final: true,
    words: 'the broker does not speak TLS on this port: use its TLS port, or mqtt:// instead of mqtts://',
  },
  ERR_SSL_TLSV13_ALERT_CERTIFICATE_REQUIRED: OWN_CERTIFICATE,
  ERR_SSL_TLSV1_ALERT_UNKNOWN_CA: OWN_CERTIFICATE,
  ERR_SSL_SSLV3_ALERT_BAD_CERTIFICATE: OWN_CERTIFICATE,
  ERR_OSSL_X509_KEY_VALUES_MISMATCH: { final: true, words: '--cert and --key do not belong together' },
  ECONNREFUSED: {
    final: false,
    words: 'nothing listens there: is the broker running, and are host and port right?',
  },
  ENOTFOUND: { final: false, words: 'nobody knows that host name' },
  EAI_AGAIN: { final: false, words: 'the name server does not answer' },
  EHOSTUNREACH: { final: false, words: 'there is no way to that host' },
  ENETUNREACH: { final: false, words: 'there is no network' },
  ETIMEDOUT: { final: false, words: 'the host does not answer' },
  ECONNRESET: {
    final: false,
    words: 'the other side cut the connection: a TLS port, perhaps, which needs mqtts://?',
  },
};

/** What an error of the connection means. */
export function verdictOf(error: Error & { code?: unknown }, version: 4 | 5): Verdict {
  const { code } = error;
  const row = typeof code === 'number' ? connackRow(code, version) : CODES[String(code)];
  return row ?? { final: false, words: error.message === '' ? 'the connection failed' : error.message };
}

function connackRow(code: number, version: 4 | 5): Row | undefined {
  // A broker without MQTT 5 answers in its own old words: return code 1, unacceptable protocol version.
  if (code === 1) return version === 5 ? VERSION_5 : VERSION_4;
  return CONNACK[code];
}

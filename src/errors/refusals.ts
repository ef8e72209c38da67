// Which troubles are final (R17), and what a person can do about each. A final one ends the service with a clear word:
// trying a wrong password for ever locks accounts and fills logs, and helps nobody.
import { Coded } from './coded.ts';
import type { Code } from './codes.ts';

export interface Verdict {
  readonly code: Code;
  readonly final: boolean;
  /** What happened and the mend, one sentence or two. */
  readonly words: string;
}

/** The service can't go on and a person must do something. */
export class LinkRefused extends Coded {
  override readonly name = 'LinkRefused';
}

type Row = Verdict;

const PASSWORD: Row = {
  code: 'E-313',
  final: true,
  words:
    'the broker refuses this user name or password: check --username and the file given with --password-file',
};
const FORBIDDEN: Row = {
  code: 'E-313',
  final: true,
  words: "the broker does not let this user in: check the broker's access list and --username",
};
const CLIENT_ID: Row = {
  code: 'E-314',
  final: true,
  words: "the broker refuses the client id: let it accept 'vatwarden-' followed by the station's id",
};
const VERSION_5: Row = {
  code: 'E-315',
  final: true,
  words:
    'the broker does not speak MQTT 5: use one that does, or say --mqtt 3.1.1 and accept that the broker can not drop ' +
    'commands that have become too old',
};
const VERSION_4: Row = {
  code: 'E-315',
  final: true,
  words: 'the broker does not speak MQTT 3.1.1: leave --mqtt 3.1.1 out',
};
const BUSY: Row = { code: 'E-311', final: false, words: 'the broker is not available just now' };
const ELSEWHERE: Row = {
  code: 'E-311',
  final: true,
  words: 'the broker names another server: give that one with --broker',
};

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
  138: { code: 'E-314', final: true, words: 'the broker has banned this client: ask whoever runs it' },
  140: {
    code: 'E-315',
    final: true,
    words: 'the broker wants an authentication that Vatwarden does not know: use a password or a certificate',
  },
  144: {
    code: 'E-316',
    final: true,
    words: "the broker refuses the will's topic: let this user write vatwarden/<station>/online",
  },
  149: {
    code: 'E-315',
    final: true,
    words: 'the broker calls the greeting too large: raise its packet size limit',
  },
  151: BUSY,
  154: {
    code: 'E-315',
    final: true,
    words:
      'the broker does not support retained messages, and without them nobody sees whether the service is online',
  },
  155: { code: 'E-315', final: true, words: 'the broker does not support QoS 1, and commands need it' },
  156: ELSEWHERE,
  157: ELSEWHERE,
  159: BUSY,
};

const NAME: Row = {
  code: 'E-322',
  final: true,
  words:
    "the broker's certificate is for another name: use the name that stands in the certificate with --broker",
};
const AUTHORITY: Row = {
  code: 'E-321',
  final: true,
  words:
    "the broker's certificate is signed by nobody known here: give the authority's certificate with --ca",
};
const OWN_CERTIFICATE: Row = {
  code: 'E-325',
  final: true,
  words: "the broker wants or refuses this client's certificate: check --cert and --key",
};

const NO_TLS: Row = {
  code: 'E-324',
  final: true,
  words: 'the broker does not speak TLS on this port: use its TLS port, or mqtt:// instead of mqtts://',
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
    code: 'E-323',
    final: true,
    words: "the broker's certificate has expired: renew it (and check this computer's date)",
  },
  // A small computer without a battery wakes up in the past, and its time server corrects it a minute later.
  CERT_NOT_YET_VALID: {
    code: 'E-323',
    final: false,
    words: "the broker's certificate is not valid yet: is this computer's date right?",
  },
  ERR_SSL_WRONG_VERSION_NUMBER: NO_TLS,
  ERR_SSL_TLSV13_ALERT_CERTIFICATE_REQUIRED: OWN_CERTIFICATE,
  ERR_SSL_TLSV1_ALERT_UNKNOWN_CA: OWN_CERTIFICATE,
  ERR_SSL_SSLV3_ALERT_BAD_CERTIFICATE: OWN_CERTIFICATE,
  ERR_OSSL_X509_KEY_VALUES_MISMATCH: {
    code: 'E-325',
    final: true,
    words: '--cert and --key do not belong together',
  },
  ECONNREFUSED: {
    code: 'E-311',
    final: false,
    words: 'nothing listens there: is the broker running, and are host and port right?',
  },
  ENOTFOUND: {
    code: 'E-312',
    final: false,
    words: 'nobody knows that host name: check the name given with --broker, and the name server',
  },
  EAI_AGAIN: {
    code: 'E-312',
    final: false,
    words:
      "the name server does not answer: check this computer's network, or give the broker's address as a number",
  },
  EHOSTUNREACH: {
    code: 'E-312',
    final: false,
    words: 'there is no way to that host: check its address and the network between',
  },
  ENETUNREACH: {
    code: 'E-312',
    final: false,
    words: 'there is no network: check the cable or the radio of this computer',
  },
  ETIMEDOUT: {
    code: 'E-311',
    final: false,
    words: 'the host does not answer: check its address, and whether a firewall stands between',
  },
  ECONNRESET: {
    code: 'E-324',
    final: false,
    words: 'the other side cut the connection: a TLS port, perhaps, which needs mqtts://?',
  },
};

/** What an error of the connection means. */
export function verdictOf(error: Error & { code?: unknown }, version: 4 | 5): Verdict {
  const { code } = error;
  const row =
    typeof code === 'number' ? connackRow(code, version) : (CODES[String(code)] ?? protocolRow(error));
  return (
    row ?? {
      code: 'E-399',
      final: false,
      words:
        error.message === ''
          ? "the connection failed: look at the broker's log"
          : `the connection failed (${error.message.split('\n', 1)[0]}): look at the broker's log`,
    }
  );
}

/** Where Node's library says no more than EPROTO, the words of the one below it tell. */
function protocolRow({ message }: Error): Row | undefined {
  if (/wrong version number|packet length too long|unknown protocol/u.test(message)) return NO_TLS;
  return /alert (certificate required|handshake failure|bad certificate|unknown ca)/u.test(message)
    ? OWN_CERTIFICATE
    : undefined;
}

function connackRow(code: number, version: 4 | 5): Row | undefined {
  // A broker without MQTT 5 answers in its own old words: return code 1, unacceptable protocol version.
  if (code === 1) return version === 5 ? VERSION_5 : VERSION_4;
  return CONNACK[code];
}

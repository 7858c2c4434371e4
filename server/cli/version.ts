/** One version for extension, server and command line. */
import pack from '../../package.json';

export const VERSION: string = pack.version;

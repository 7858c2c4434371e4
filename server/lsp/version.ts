/** The version that clients see: that of the package, taken in by the bundler. */
import { version } from '../../package.json';

export const VERSION: string = version;

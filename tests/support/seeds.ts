/** Random tests give the same cases in every run; `FUZZ_SEED` asks for others. */
import fc from 'fast-check';

fc.configureGlobal({ seed: Number(process.env.FUZZ_SEED ?? 20_261_127) });

import { it } from 'vitest';
import { appendFileSync } from 'node:fs';
import { everythingOf } from './support/everything';
import { mangledText } from './support/mangled';
it('x', () => { const S=Number(process.env.FUZZ_SEED), N=Number(process.env.FUZZ_RUNS);
 for (let seed=S; seed<S+N; seed++){ appendFileSync(process.env.OUT!, `${seed} `); const t0=Date.now(); let ph='',n=0;
 try { const w=everythingOf(mangledText(seed), [seed,seed*7,seed*31], (p)=>{ph=p; if(++n>2e5) throw new Error('goes on '+p);}); if(/\bNaN\b|\bundefined\b|\[object/.test(w)) appendFileSync(process.env.OUT!, 'BADWORD '); }
 catch(e){ appendFileSync(process.env.OUT!, 'THROW '+ph+' '+(e as Error).message+' '); }
 appendFileSync(process.env.OUT!, `${Date.now()-t0}\n`); }
}, 3e6);

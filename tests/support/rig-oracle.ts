/**
 * Whole rigs of ideal gas once more, in Python for scipy, written down from the reference (Volumes and openings) and not from the engine:
 * one stack of chambers and doors, commands to the doors as times, openings, adiabatic or isothermal, chambers that cool, feeds and draws
 * with conditions. Cases come as one JSON list on stdin; contents at their ends go out as another.
 */

export interface OracleCase {
  readonly R: number;
  readonly gamma: number;
  /** Temperature of the medium, K. */
  readonly T: number;
  readonly adiabatic: boolean;
  readonly chambers: readonly {
    readonly volume: number;
    readonly pressure: number;
    readonly temperature: number;
    readonly cools?: number;
  }[];
  readonly doors: readonly {
    readonly open: number;
    readonly shut: number;
    /** Effective, m2. */
    readonly area: number;
    /** Effective, m2, of what passes while it is shut. */
    readonly leak?: number;
    readonly travel: number;
    /** [s, 1 open or 0 shut] */
    readonly commands: readonly (readonly [number, number])[];
  }[];
  /** ['c', chamber] and ['d', door] in order. */
  readonly stack: readonly (readonly ['c' | 'd', number])[];
  readonly lines: readonly {
    readonly chamber: number;
    readonly sign: 1 | -1;
    readonly rate: number;
    readonly above?: number;
    readonly below?: number;
    readonly on: readonly (readonly [number, number])[];
  }[];
  /** Part of a threshold over which a condition ends a flow. */
  readonly edge: number;
  readonly until: number;
  readonly rtol: number;
}

export interface OracleAnswer {
  readonly mass: readonly number[];
  readonly temperature: readonly number[];
  readonly lines: readonly number[];
  readonly failed?: string;
}

export const RIG_ORACLE = `
import sys, json
from math import sqrt
import numpy as np
from scipy.integrate import solve_ivp

def nozzle(g):
    rc = (2/(g+1))**(g/(g-1))
    choked = sqrt(g)*(2/(g+1))**((g+1)/(2*(g-1)))
    lam = 1 - 1e-6
    def psi(r):
        return choked if r <= rc else sqrt(max(0.0, 2*g/(g-1)*(r**(2/g) - r**((g+1)/g))))
    slope = psi(lam)/(1-lam)
    return lambda r: slope*(1-r) if r >= lam else psi(r)

def courses(door, until):
    """(t, position, whether off its seat afterwards, velocity) at every turn of a door."""
    turns = [(0.0, 0.0, 0.0)]
    x, v, t = 0.0, 0.0, 0.0
    for at, to in door['commands']:
        if at > until: break
        if v:
            end = t + ((1-x) if v > 0 else x)/abs(v)
            if end <= at: turns.append((end, 1.0 if v > 0 else 0.0, 0.0)); x = turns[-1][1]; v = 0.0
            else: x += v*(at-t)
        t = at
        v = (1 if to else -1)/door['travel'] if (x < 1 if to else x > 0) else 0.0
        turns.append((t, x, v))
    if v:
        end = t + ((1-x) if v > 0 else x)/abs(v)
        turns.append((end, 1.0 if v > 0 else 0.0, 0.0))
    return turns

def course_at(turns, t):
    last = turns[0]
    for turn in turns:
        if turn[0] > t + 1e-12: break
        last = turn
    return last[1] + last[2]*(t-last[0])

def run(c, rtol):
    R, g, Tm, adiabatic = c['R'], c['gamma'], c['T'], c['adiabatic']
    cv, cp = R/(g-1), R*g/(g-1)
    psi = nozzle(g)
    doors, chambers = c['doors'], c['chambers']
    stack = c['stack']                      # ['c',0] or ['d',1] in order
    n = len(stack)
    until = c['until']
    path = [courses(d, until) for d in doors]
    times = sorted({0.0, until} | {t for p in path for t, _, _ in p if t < until} | {t for l in c['lines'] for w in l['on'] for t in w if t < until})
    def volumes(t):
        return [chambers[k]['volume'] if kind == 'c' else doors[k]['shut'] + course_at(path[k], t)*(doors[k]['open']-doors[k]['shut']) for kind, k in stack]
    v0 = volumes(0.0)
    # What a shut pocket holds at the start: at the pressure of the chamber above it and the temperature of the medium.
    m, U = np.zeros(n), np.zeros(n)
    nl = len(c['lines'])
    moved = np.zeros(nl)
    asked = [0]
    place = {k: i for i, (kind, k) in enumerate(stack) if kind == 'c'}
    p = 0.0
    for i, (kind, k) in enumerate(stack):
        if kind == 'c': p = chambers[k]['pressure']
        T = chambers[k]['temperature'] if kind == 'c' and adiabatic else Tm
        m[i] = p*v0[i]/(R*T); U[i] = m[i]*cv*T
    for s, e in zip(times, times[1:]):
        if e - s < 1e-9: continue
        mid = 0.5*(s+e)
        x0 = [course_at(p_, s) for p_ in path]; x1 = [course_at(p_, e) for p_ in path]
        xm = [course_at(p_, mid) for p_ in path]
        off = [x > 0 for x in xm]
        rate = [(x1[j]-x0[j])/(e-s) for j in range(len(doors))]
        V0 = [chambers[k]['volume'] if kind == 'c' else doors[k]['shut'] + x0[k]*(doors[k]['open']-doors[k]['shut']) for kind, k in stack]
        dV = [0.0 if kind == 'c' else rate[k]*(doors[k]['open']-doors[k]['shut']) for kind, k in stack]
        links = []                           # (i, i+1, area0, darea) or wide
        for i in range(n-1):
            a, b = stack[i], stack[i+1]
            if any(kind == 'd' and not off[k] for kind, k in (a, b)): continue
            if a[0] == 'c' and b[0] == 'c': continue
            if b[0] == 'd': links.append((i, i+1, doors[b[1]]['area']*x0[b[1]], doors[b[1]]['area']*rate[b[1]]))
            else: links.append((i, i+1, None, 0.0))
        lab = list(range(n))
        for a, b, _, _ in links: lab = [lab[a] if q == lab[b] else q for q in lab]
        reached = {lab[i] for i, (kind, k) in enumerate(stack) if kind == 'c'}
        last, shut = None, []
        for i, (kind, k) in enumerate(stack):
            if kind == 'd' and not off[k]: shut.append(k); continue
            if last is not None and shut and all(doors[j].get('leak') for j in shut) and lab[last] in reached and lab[i] in reached:
                links.append((last, i, sum(doors[j]['leak']**-2 for j in shut)**-0.5, 0.0))
            last, shut = i, []
        if not adiabatic:
            root = list(range(n))
            for a, b, area, _ in links:
                if area is None: root[b] = root[a]
        else: root = list(range(n))
        on = [any(a <= mid < b for a, b in l['on']) for l in c['lines']]
        top = max([abs(d) for d in dV] + [d['area']*1000 for d in doors] + [max(d['open'] for d in doors)/(e-s)])
        wide = top/1e-5
        def f(t, y):
            asked[0] += 1
            if asked[0] > 60000: raise TimeoutError
            dt = t - s
            V = [V0[i] + dV[i]*dt for i in range(n)]
            d = np.zeros((2*n if adiabatic else n) + nl)
            mass = [max(1e-15, y[i]) for i in range(n)]
            if adiabatic:
                Tn = [y[n+i]/(mass[i]*cv) for i in range(n)]
                pr = [(g-1)*y[n+i]/V[i] for i in range(n)]
                rho = [mass[i]/V[i] for i in range(n)]
            else:
                ms, vs = {}, {}
                for i in range(n): ms[root[i]] = ms.get(root[i], 0)+y[i]; vs[root[i]] = vs.get(root[i], 0)+V[i]
                rho = [max(1e-15, ms[root[i]])/vs[root[i]] for i in range(n)]
                Tn = [Tm]*n
                pr = [r*R*Tm for r in rho]
            for a, b, area, da in links:
                if area is None:
                    if not adiabatic: continue
                    pm = 0.5*(pr[a]+pr[b]); q = wide*(pr[a]-pr[b])/pm
                    q *= rho[a] if q > 0 else rho[b]
                else:
                    A = area + da*dt
                    up, dn = (a, b) if pr[a] >= pr[b] else (b, a)
                    q = A*psi(pr[dn]/pr[up])*sqrt(pr[up]*rho[up])*(1 if up == a else -1)
                d[a] -= q; d[b] += q
                if adiabatic:
                    h = q*cp*(Tn[a] if q > 0 else Tn[b]); d[n+a] -= h; d[n+b] += h
            for which, (l, is_on) in enumerate(zip(c['lines'], on)):
                if not is_on: continue
                i = place[l['chamber']]; q = l['sign']*l['rate']
                if l.get('above'): q *= min(1.0, max(0.0, (pr[i]/l['above']-1)/c['edge']))
                if l.get('below'): q *= min(1.0, max(0.0, (1-pr[i]/l['below'])/c['edge']))
                d[i] += q; d[len(d)-nl+which] = abs(q)
                if adiabatic: d[n+i] += q*cp*(Tm if q > 0 else Tn[i])
            if adiabatic:
                for i in range(n): d[n+i] -= pr[i]*dV[i]
                for i, (kind, k) in enumerate(stack):
                    tau = chambers[k].get('cools') if kind == 'c' else None
                    if tau: d[n+i] += mass[i]*cv*(Tm-Tn[i])/tau
            return d
        y0 = np.concatenate([m, U]) if adiabatic else m.copy()
        if not adiabatic:
            ms, vs = {}, {}
            for i in range(n): ms[root[i]] = ms.get(root[i], 0)+m[i]; vs[root[i]] = vs.get(root[i], 0)+V0[i]
            y0 = np.array([ms[root[i]]*V0[i]/vs[root[i]] for i in range(n)])
        y0 = np.concatenate([y0, np.zeros(nl)])
        scale = np.concatenate([np.full(n, m.max()*1e-4), np.full(n, max(U.max(), 1)*1e-4), np.full(nl, m.max()*1e-4)]) if adiabatic else np.full(n+nl, m.max()*1e-4)
        def by(method):
            asked[0] = 0
            try: return solve_ivp(f, (s, e), y0, method=method, rtol=rtol, atol=rtol*scale)
            except TimeoutError: return None
        # LSODA gives up on a few that creep through a wide opening.
        sol = by('LSODA')
        if sol is None or not sol.success: sol = by('Radau')
        if sol is None or not sol.success: return {'failed': 'too many evaluations' if sol is None else sol.message}
        y = sol.y[:, -1]; m = y[:n].copy()
        moved += y[len(y)-nl:]
        if adiabatic: U = y[n:2*n]
        else:
            Ve = [V0[i] + dV[i]*(e-s) for i in range(n)]
            ms, vs = {}, {}
            for i in range(n): ms[root[i]] = ms.get(root[i], 0)+m[i]; vs[root[i]] = vs.get(root[i], 0)+Ve[i]
            m = np.array([ms[root[i]]*Ve[i]/vs[root[i]] for i in range(n)])
    return {'mass': [float(m[place[k]]) for k in range(len(chambers))],
            'temperature': [float(U[place[k]]/(m[place[k]]*cv)) for k in range(len(chambers))] if adiabatic else [Tm]*len(chambers),
            'lines': [float(q) for q in moved]}

def answer(c): return run(c, c['rtol'])
if __name__ == '__main__': print(json.dumps([answer(c) for c in json.load(sys.stdin)]))
`;

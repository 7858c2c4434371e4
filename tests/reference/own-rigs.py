"""Own independent models of whole rigs (textbook equations, scipy): vessels, pockets and openings of one stack, no code of the engine."""
import json
import numpy as np
from scipy.integrate import solve_ivp

R0, G, PA = 8.314462618, 9.80665, 101325.0

def isentropic(area, g, cd=0.62):
    rc = (2/(g+1))**(g/(g-1))
    def flow(p, rho, r):
        r = max(r, rc)
        return cd*area*np.sqrt(2*g/(g-1)*p*rho*max(0.0, r**(2/g)-r**((g+1)/g)))
    return flow

def by_kv(kv, g, xt=0.7):
    """IEC 60534-2-1, kg/h = 31.6 Kv Y sqrt(x p rho) with p in bar."""
    fx = g/1.4*xt
    def flow(p, rho, r):
        x = min(1-r, fx)
        return 31.6*kv*(1-x/(3*fx))*np.sqrt(x*p/1e5*rho)/3600
    return flow

def by_iso(C, b):
    """ISO 6358-1 for air; C in m3/(s Pa)."""
    def flow(p, rho, r):
        T = p/(287.05*rho)
        w = 1.0 if r <= b else np.sqrt(max(0.0, 1-((r-b)/(1-b))**2))
        return C*p*1.185*np.sqrt(293.15/T)*w
    return flow

class Gas:
    """Ideal or Peng-Robinson (isothermal only); nodes hold mass and inner energy."""
    def __init__(s, M, g, T, adiabatic=False, pr=None):
        s.R, s.g, s.T, s.ad, s.pr = R0/M, g, T, adiabatic, pr
        s.cv = s.R/(g-1)
        if pr:
            Tc, pc, w = pr
            k = 0.37464+1.54226*w-0.26992*w*w
            s.a = 0.457235529*(R0*Tc)**2/pc*(1+k*(1-np.sqrt(T/Tc)))**2
            s.b = 0.077796074*R0*Tc/pc
            s.M = M
    def p(s, rho, T):
        if not s.pr: return rho*s.R*T
        c = rho/s.M
        return R0*T*c/(1-s.b*c)-s.a*c*c/(1+2*s.b*c-(s.b*c)**2)
    def rho(s, p, T):
        if not s.pr: return p/(s.R*T)
        lo, hi = 0.0, 0.999*s.M/s.b
        for _ in range(200):
            m = .5*(lo+hi)
            if s.p(m, T) < p: lo = m
            else: hi = m
        return lo

class Rig:
    """
    chambers: dict(V, p | level.., wall); doors: dict(open, shut, travel, flow (gas) or area); commands per door [(t, 1|0)].
    Nodes 0..n-1 chambers; then pockets. stack: chamber, doors.., chamber.
    """
    def __init__(s, gas, Vs, ps, doors, commands, walls=None, feeds=(), leaks=None):
        s.gas, s.V, s.doors, s.commands, s.feeds = gas, Vs, doors, commands, feeds
        s.walls = walls or [0]*len(Vs)
        s.leaks = leaks or [None]*len(doors)
        T = gas.T
        n = len(doors)
        # One stack from chamber 0 to chamber 1.
        s.m = np.array([gas.rho(p, T)*v for p, v in zip(ps, Vs)]+[0.0]*n)
        # A pocket starts shut, with what is in its clearance at the pressure of the chamber upstream (only clearance 0 is used here at the start).
        for k, d in enumerate(doors): s.m[2+k] = gas.rho(ps[0], T)*d['shut']
        s.U = s.m*gas.cv*T
        s.t = 0.0
        s.x = [0.0]*n; s.v = [0.0]*n; s.total = [0.0]*len(feeds)
        # J: what the doors do on the contents as their pockets shrink, and what the contents do on them as they grow.
        s.work = np.zeros(2)
    def vol(s, k, t): return s.doors[k]['shut']+(s.doors[k]['open']-s.doors[k]['shut'])*min(1, max(0, s.x[k]+s.v[k]*(t-s.t)))
    def vdot(s, k): return (s.doors[k]['open']-s.doors[k]['shut'])*s.v[k]
    def run(s, until, stop=None):
        """To `until` (s), by breakpoints of door movements. Returns the time at which stop(p) rose through 0, or None."""
        g, n = s.gas, len(s.doors)
        while s.t < until-1e-12:
            # commands due now
            for k in range(n):
                for at, to in s.commands[k]:
                    if abs(at-s.t) < 1e-9: s.v[k] = (1 if to else -1)/s.doors[k]['travel']
            off = [s.x[k] > 1e-12 or s.v[k] > 0 for k in range(n)]
            ends = [until]
            for k in range(n):
                ends += [at for at, _ in s.commands[k] if at > s.t+1e-9]
                if s.v[k]: ends.append(s.t+((1-s.x[k]) if s.v[k] > 0 else s.x[k])/abs(s.v[k]))
            end = min(ends)
            # node groups: pocket n-1 is one with chamber 1 while the last door is off its seat
            joined = off[n-1] and s.doors[n-1]['open'] > 0
            m, U = s.m.copy(), s.U.copy()
            if joined:
                m[1] += m[1+n]; U[1] += U[1+n]; m[1+n] = 0; U[1+n] = 0
            live = [0, 1]+[2+k for k in range(n) if off[k] and s.doors[k]['open'] > 0 and not (joined and k == n-1)]
            def volume(i, t):
                if i == 0: return s.V[0]
                if i == 1: return s.V[1]+(s.vol(n-1, t) if joined else 0)
                return s.vol(i-2, t)
            def rate(i):
                if i == 0: return 0.0
                if i == 1: return s.vdot(n-1) if joined else 0.0
                return s.vdot(i-2)
            def node(k):  # node of the space of pocket k
                return 1 if (joined and k == n-1) else 2+k
            edges = []
            prev, gap = 0, []
            for k in range(n):
                if off[k]:
                    if not gap: edges.append((prev, node(k), 'd', k))
                    else: edges.append((prev, node(k) if s.doors[k]['open'] > 0 else 1, 'l', tuple(gap)))
                    if s.doors[k]['open'] > 0: prev = node(k)
                    else:
                        edges[-1] = (edges[-1][0], 1 if k == n-1 else None, *edges[-1][2:])
                        prev = 1
                    gap = []
                else: gap.append(k)
            if gap: edges.append((prev, 1, 'l', tuple(gap)))
            idx = {i: q for q, i in enumerate(live)}
            def derivs(t, y):
                N = len(live)
                mm, uu = y[:N], y[N:2*N]
                vols = [volume(i, t) for i in live]
                Ts = [uu[q]/(mm[q]*g.cv) if g.ad else g.T for q in range(N)]
                pr = [g.p(mm[q]/max(vols[q],1e-9), Ts[q]) for q in range(N)]
                dm = np.zeros(N); du = np.zeros(N)
                for q, i in enumerate(live):
                    du[q] -= pr[q]*rate(i)
                    if i < 2 and s.walls[i]: du[q] -= s.walls[i]*(Ts[q]-g.T)
                for a, b, kind, k in edges:
                    if b is None: continue
                    qa, qb = idx[a], idx[b]
                    hi, lo, sg = (qa, qb, 1) if pr[qa] >= pr[qb] else (qb, qa, -1)
                    r = pr[lo]/pr[hi]
                    rho = mm[hi]/vols[hi]
                    if kind == 'd':
                        pos = min(1, max(0, s.x[k]+s.v[k]*(t-s.t)))
                        f = pos*s.doors[k]['flow'](pr[hi], rho, r)
                    else:
                        if any(s.leaks[j] is None for j in k): continue
                        f = 1/np.sqrt(sum(1/s.leaks[j]**2 for j in k))*isentropic(1, g.g)(pr[hi], rho, r)
                    f *= sg
                    dm[qa] -= f; dm[qb] += f
                    h = g.g*g.cv*Ts[hi]
                    du[qa] -= f*h; du[qb] += f*h
                lines = []
                for c, fn in s.feeds:
                    q = idx[c]
                    s.live = y[2*N+len(lines)]; f = fn(t, pr[q], mm[q]/vols[q], s)
                    dm[q] += f
                    du[q] += f*g.g*g.cv*(g.T if f > 0 else Ts[q])
                    lines.append(f)
                work = [0.0, 0.0]
                for k in range(n):
                    push = -pr[idx[node(k)]]*s.vdot(k) if s.v[k] and node(k) in idx else 0.0
                    work[0 if push > 0 else 1] += abs(push)
                return np.concatenate([dm, du, lines, work])
            y0 = np.concatenate([m[live], U[live], s.total, s.work])
            N = len(live)
            ev = None
            if stop:
                def ev(t, y):
                    vols = [volume(i, t) for i in live]
                    return stop([g.p(y[q]/max(vols[q],1e-9), y[N+q]/(y[q]*g.cv) if g.ad else g.T) for q in (0, 1)])
                ev.terminal, ev.direction = True, 1
            sol = solve_ivp(derivs, (s.t, end), y0, method='LSODA', rtol=1e-7, atol=1e-9, max_step=max(1e-3,(end-s.t)/8), events=ev)
            hit = bool(stop) and len(sol.t_events[0]) > 0
            to = sol.t_events[0][0] if hit else end
            y = sol.y_events[0][0] if hit else sol.y[:, -1]
            for q, i in enumerate(live): m[i], U[i] = y[q], (y[N+q] if g.ad else y[q]*g.cv*g.T)
            s.total, s.work = list(y[2*N:-2]), y[-2:].copy()
            vk = [s.vol(k, to) for k in range(n)]
            for k in range(n):
                s.x[k] = min(1, max(0, s.x[k]+s.v[k]*(to-s.t)))
                if s.v[k] > 0 and s.x[k] > 1-1e-9: s.x[k], s.v[k] = 1.0, 0.0
                if s.v[k] < 0 and s.x[k] < 1e-9: s.x[k], s.v[k] = 0.0, 0.0
            if joined:
                share = vk[n-1]/(vk[n-1]+s.V[1])
                m[1+n], U[1+n] = m[1]*share, U[1]*share
                m[1] -= m[1+n]; U[1] -= U[1+n]
            s.m, s.U, s.t = m, U, to
            if hit: return to
        return None
    def pressure(s, c):
        T = s.U[c]/(s.m[c]*s.gas.cv) if s.gas.ad else s.gas.T
        return s.gas.p(s.m[c]/s.V[c], T)
    def temp(s, c): return s.U[c]/(s.m[c]*s.gas.cv)

def pattern(events, period, until):
    """[(door, t, 1|0)] each period."""
    n = max(d for d, _, _ in events)+1
    return [[(t+k*period, to) for k in range(int(until/period)+1) for d, t, to in events if d == door and t+k*period < until] for door in range(n)]

PUMP = [(0, 0, 1), (1, 0, 1), (0, 2, 0), (2, 2.8, 1), (1, 4, 0), (2, 5.5, 0)]

out = {}
RIGS = {}
SEQ = """sequence pass on run {
    at 0 s open upper, middle
    at 2 s close upper
    at 2.8 s open lower
    at 4 s close middle
    at 5.5 s close lower
    repeat after 10 s
  }
"""
def three(opening, clear='1 L'):
    return '\n'.join(f'  door {d} {{ pocket 100 L  clearance {clear}  travel 400 ms  {opening} }}' for d in ('upper','middle','lower'))
def gasrig(name, medium, body, opening, extra='', clear='1 L', dur='60 s', ops='at 0 s switch run on'):
    RIGS[name] = f"""rig {name} {{
  {medium}
{body}
{three(opening, clear)}
  stack a > upper > middle > lower > b
  switch run = off
  {SEQ}
  {extra}
  scenario go {{ {ops}
    for {dur} }}
}}
"""
def doors(flow, shut=.001): return [dict(open=.1, shut=shut, travel=.4, flow=flow) for _ in range(3)]
def final(r, keys=('m','p','T')):
    o = dict(mass=[r.m[0], r.m[1]], pressure=[r.pressure(0), r.pressure(1)])
    if r.gas.ad: o['temperature'] = [r.temp(0), r.temp(1)]
    if r.total: o['lines'] = r.total
    o['work'], o['back'] = map(float, r.work)
    return o
AIR = dict(M=28.9647e-3, g=1.4, T=293.15)

# 1 gas with wall heat
gasrig('walls', 'medium air { process adiabatic }', '  chamber a { volume 1 m3  pressure 4 bar  wall 60 W/K }\n  chamber b { volume 500 L  pressure 1 bar  wall 40 W/K }', 'bore 80 mm')
r = Rig(Gas(adiabatic=True, **AIR), [1, .5], [4e5, 1e5], doors(isentropic(np.pi*.04**2, 1.4)), pattern(PUMP, 10, 60), walls=[60, 40])
r.run(60); out['walls'] = final(r)
# 2 kv, gas
gasrig('kv_gas', 'medium air', '  chamber a { volume 1 m3  pressure 4 bar }\n  chamber b { volume 500 L  pressure 1 bar }', 'kv 60 m3/h  xt 0.6')
r = Rig(Gas(**AIR), [1, .5], [4e5, 1e5], doors(by_kv(60, 1.4, .6)), pattern(PUMP, 10, 60))
r.run(60); out['kv_gas'] = final(r)
# 3 iso
gasrig('iso', 'medium air', '  chamber a { volume 1 m3  pressure 6 bar }\n  chamber b { volume 500 L  pressure 1 bar }', 'conductance 80 L/s/bar  ratio 0.35')
r = Rig(Gas(**AIR), [1, .5], [6e5, 1e5], doors(by_iso(80e-3/1e5, .35)), pattern(PUMP, 10, 60))
r.run(60); out['iso'] = final(r)
# 4 real gas, own, Peng-Robinson
gasrig('dense', 'medium heavy gas { molar_mass 44.01 g/mol  heat_ratio 1.29  temperature 50 degC  law real  critical_temperature 304.13 K  critical_pressure 7.3773 MPa  acentric_factor 0.22394 }',
  '  chamber a { volume 1 m3  pressure 90 bar }\n  chamber b { volume 500 L  pressure 40 bar }', 'bore 60 mm')
r = Rig(Gas(44.01e-3, 1.29, 323.15, pr=(304.13, 7.3773e6, .22394)), [1, .5], [9e6, 4e6], doors(isentropic(np.pi*.03**2, 1.29)), pattern(PUMP, 10, 60))
r.run(60); out['dense'] = final(r)
# 5 a pump by its curve (free volumes), a draw, time to a target
gasrig('pump', 'medium air', '  chamber a { volume 1 m3  pressure 1 bar }\n  chamber b { volume 500 L  pressure 1 bar }', 'bore 80 mm',
  'feed blower into a { curve 1 bar 400 m3/h, 2 bar 250 m3/h, 4 bar 0 m3/h }\n  draw user from b { rate 10 g/s  only above 1.2 bar }\n  sensor done on b { pressure above 1.8 bar  clears below 1.5 bar }\n  require time_to(b, 1.8 bar) <= 10 min during go', dur='5 min', ops='at 0 s feed blower on\n    at 0 s draw user on\n    at 0 s switch run on')
rf = PA/(R0/28.9647e-3*293.15)
curve = lambda p: np.interp(p, [1e5, 2e5, 4e5], [400, 250, 0])/3600*rf
def run5(stop=None):
    r = Rig(Gas(**AIR), [1, .5], [1e5, 1e5], doors(isentropic(np.pi*.04**2, 1.4)), pattern(PUMP, 10, 300),
      feeds=[(0, lambda t, p, rho, s: curve(p)), (1, lambda t, p, rho, s: -.01*min(1, max(0, (p/1.2e5-1)/1e-5)))])
    hit = r.run(300, stop); return r, hit
r, _ = run5(); out['pump'] = final(r)
r, hit = run5(lambda p: p[1]-1.8e5); out['pump']['to 1.8 bar'] = hit
# 6 switched feed: a timer-free hysteresis by a sensor
gasrig('switched', 'medium air', '  chamber a { volume 1 m3  pressure 1 bar }\n  chamber b { volume 500 L  pressure 1 bar }', 'bore 80 mm',
  'feed comp into a { rate 60 g/s }\n  sensor high on a { pressure above 2 bar  clears below 1.6 bar }\n  drive comp = not high', dur='5 min', clear='5 L')
state = dict(on=1)
r = Rig(Gas(**AIR), [1, .5], [1e5, 1e5], doors(isentropic(np.pi*.04**2, 1.4), .005), pattern(PUMP, 10, 300),
  feeds=[(0, lambda t, p, rho, s: .06*state['on'])])
flips = []
while r.t < 300-1e-9:
    hit = r.run(300, (lambda p: p[0]-2e5) if state['on'] else (lambda p: 1.6e5-p[0]))
    if hit is not None: flips.append(hit); state['on'] = 1-state['on']
out['switched'] = final(r); out['switched']['flips'] = flips
# 7 liquid with head: a valve between a high and a low tank, opened for 10 s of every 30
RIGS['head'] = """rig head {
  medium oil liquid { density 900 kg/m3  bulk_modulus 1.6 GPa }
  chamber a { volume 6 m3  floor_area 2 m2  level 2 m  elevation 3 m }
  chamber b { volume 6 m3  floor_area 1.5 m2  level 0.5 m  elevation 1 m }
  door valve { travel 2 s  kv 90 m3/h }
  stack a > valve > b
  switch run = off
  sequence pass on run { at 0 s open valve
    at 10 s close valve
    repeat after 30 s }
  scenario go { at 0 s switch run on
    for 5 min }
}
"""
# Q = Kv sqrt(dp/1bar / (rho/1000)); dp = rho g (dz): Q[m3/h] = Kv sqrt(g dz 1000/1e5)
def head(ha, hb, strokes):
    for _ in range(strokes):
        def d(t, y):
            pos = min(1, t/2)*(t < 10)+(t >= 10)*max(0, 1-(t-10)/2)
            q = 90/3600*pos*np.sqrt(max(0, G*1000/1e5*(3+y[0]-1-y[1])))
            return [-q/2, q/1.5]
        for f, t in ((0, 2), (2, 10), (10, 12)):
            ha, hb = solve_ivp(d, (f, t), [ha, hb], rtol=1e-9, atol=1e-12).y[:, -1]
    return ha, hb
h1 = head(2, .5, 1); h = head(2, .5, 10)
out['head'] = dict(stroke=(h1[1]-.5)*1.5*900, mass=[h[0]*2*900, h[1]*1.5*900], work=0, back=0)
# 8 liquid with leak: pumped up 4 m by pockets past leaking doors
RIGS['leaky'] = f"""rig leaky {{
  medium oil liquid {{ density 900 kg/m3  bulk_modulus 1.6 GPa }}
  chamber a {{ volume 8 m3  floor_area 4 m2  level 1.5 m  elevation 0 m }}
  chamber b {{ volume 8 m3  floor_area 4 m2  level 0.5 m  elevation 4 m }}
{three('bore 200 mm  leak 2 cm2')}
  stack a > upper > middle > lower > b
  switch run = off
  {SEQ}
  scenario go {{ at 0 s switch run on
    for 5 min }}
}}
"""
# Incompressible: a moving pocket takes and gives its own volume; the joined space has nearly the pressure of the side that it is open to, so the shut doors
# between carry the head. Piecewise: which doors are off their seats.
def leaky(strokes):
    ma, mb = 1.5*4*900, .5*4*900
    done = back = 0.0
    A = .62*2e-4
    def off(k, t):
        o, c = ((0, 2.4), (0, 4.4), (2.8, 5.9))[k]
        return o < t < c
    # pocket k volume courses: taken from/given to: upper and middle with a until upper shuts (2.4), then middle alone holds; lower with b.
    for _ in range(strokes):
        # leak flow through n shut doors in series, from b to a
        for f, to in ((0, 2.4), (2.8, 4.4), (4.4, 5.9), (5.9, 10)):
            mid = .5*(f+to)
            n = sum(not off(k, mid) for k in range(3))
            def d(t, y):
                # levels with pockets taken from a (0..) as they move
                va = min(t, .4)/.4*.198 if t < 2 else .198-.099*min(1, (t-2)/.4)
                pa = va
                vb = (.099*min(1, max(0, (t-2.8)/.4)) - (.099*min(1, max(0, (t-4)/.4)) if t > 4 else 0) - (.099*min(1, max(0, (t-5.5)/.4)) if t > 5.5 else 0))
                ha = (y[0]-900*va)/900/4; hb = (y[1]-900*vb)/900/4
                q = A/np.sqrt(n)*np.sqrt(2*G*max(0, 4+hb-ha))*900
                # A pocket has the pressure at the floor of the chamber it is open to, all floors counted from that of a: the work of lifting,
                # against the air outside.
                pa, pb = 900*G*ha, 900*G*(4+hb)
                v = .099/.4
                w = pa*v*(2 <= t < 2.4) + pb*v*((4 <= t < 4.4)+(5.5 <= t < 5.9))
                g = pa*v*2*(t < .4) + pb*v*(2.8 <= t < 3.2)
                return [q, -q, w, g]
            ma, mb, done, back = solve_ivp(d, (f, to), [ma, mb, done, back], rtol=1e-9, atol=1e-9, max_step=.02).y[:, -1]
        # y counted a with its pockets, b with lower: transfer of the middle pocket (100 L)
        ma -= 89.1; mb += 89.1
    return ma, mb, done, back
l1, l30 = leaky(1), leaky(30)
out['leaky'] = dict(stroke=l1[1]-.5*4*900, mass=list(l30[:2]), work=l30[2], back=l30[3])
# 9 two periods: two stacks between other chambers, periods of 10 s and 7 s, sharing chamber b... see rigs: closed form not used
RIGS['periods'] = f"""rig periods {{
  medium air
  chamber a {{ volume 1 m3  pressure 3 bar }}
  chamber b {{ volume 500 L  pressure 1 bar }}
  chamber c {{ volume 300 L  pressure 1 bar }}
{three('bore 80 mm')}
  door out {{ travel 400 ms  bore 20 mm }}
  stack a > upper > middle > lower > b
  stack b > out > c
  switch run = off
  {SEQ}
  sequence vent on run {{ at 1 s open out
    at 3 s close out
    repeat after 7 s }}
  scenario go {{ at 0 s switch run on
    for 70 s }}
}}
"""
fl = isentropic(np.pi*.01**2, 1.4)
Rair = R0/28.9647e-3
box = dict(m=1e5*.3/(Rair*293.15))
# chamber c as a "feed" of b: an extra state is the total of the line itself
def vent(t, p, rho, s):
    ph = t % 7
    pos = 0 if ph < 1 else min(1, (ph-1)/.4) if ph < 3 else max(0, 1-(ph-3)/.4)
    pc = (box['m']-s.live)*Rair*293.15/.3
    if p >= pc: return -pos*fl(p, rho, pc/p)
    return pos*fl(pc, pc/(Rair*293.15), p/pc)
steps = sorted({k*7+o for k in range(10) for o in (1, 1.4, 3, 3.4)}|{70})
r = Rig(Gas(**AIR), [1, .5], [3e5, 1e5], doors(isentropic(np.pi*.04**2, 1.4)), pattern(PUMP, 10, 70), feeds=[(1, vent)])
r.live = 0.0
for st in steps: r.run(st)
o = final(r); o['mass'].append(box['m']-r.total[0]); o.pop('lines'); out['periods'] = o
json.dump(dict(about='Rigs and what own models give for them (own-rigs.py); SI units.', rigs=RIGS, want=out), open('own-rigs.json', 'w'), indent=2)

/** The flow equations once more, in Python for scipy: reads a case as JSON, writes the masses of the five cells and its own timing. */
export const ORACLE = `
import sys, json, time
import numpy as np
from scipy.integrate import solve_ivp
c = json.load(sys.stdin)
R, T, g = 287.05, 293.15, 1.4
rc = (2/(g+1))**(g/(g-1))
K = np.sqrt(g)*(2/(g+1))**((g+1)/(2*(g-1)))
def psi(r):
    if r <= rc: return K
    return np.sqrt(max(0.0, 2*g/(g-1)*(r**(2/g) - r**((g+1)/g))))
LAM = 0.99999
SLOPE = psi(LAM)/(1-LAM)
def flux(p, rho, r):
    s = np.sqrt(p*rho)
    return (SLOPE*(1-r) if r >= LAM else psi(r))*s
V0, V1 = c['volumes']; P, C, A, tr = c['pocket'], c['clearance'], c['area'], c['travel']/1000
win = [(a/1000, b/1000) for a, b in c['windows']]
def x(i, t):
    a, b = win[i]
    return max(0.0, min(1.0, (t-a)/tr, 1.0 if t < b else 1-(t-b)/tr))
times = sorted({0.0, c['duration']/1000} | {t for a, b in win for t in (a, a+tr, b, b+tr)})
m = [c['pressures'][0]*1e3*V0/(R*T), c['pressures'][1]*1e3*V1/(R*T)]
m += [m[0]/V0*C]*3
began = time.perf_counter(); evals = 0
for s, e in zip(times, times[1:]):
    if e - s < 1e-12: continue
    mid = (s+e)/2
    open_ = [win[i][0] <= mid < win[i][1]+tr for i in range(3)]
    # Lumps: receiver | pocket 1 | pocket 2 | pocket 3 with the store while door 3 is away from shut.
    def vol(t): return [V0] + [C + x(i, t)*(P-C) for i in range(3)] + [V1]
    y0 = [m[0], m[2], m[3], m[4], m[1]]
    if open_[2]:
        v = vol(s); tot = y0[3]+y0[4]; y0[3] = tot*v[3]/(v[3]+v[4]); y0[4] = tot-y0[3]
    def f(t, y):
        global evals
        evals += 1
        v = vol(t); d = np.zeros(5)
        rho = [max(0.0, y[k])/v[k] for k in range(5)]
        if open_[2]:
            both = max(0.0, y[3]+y[4])/(v[3]+v[4]); rho[3] = rho[4] = both
        for i in range(3):
            up, dn = i, i+1
            if not open_[i] or (i > 0 and not open_[i-1]): continue
            a = A*x(i, t)
            pu, pd = rho[up]*R*T, rho[dn]*R*T
            if pu >= pd:
                if pu > 0: q = a*flux(pu, rho[up], pd/pu)
                else: q = 0.0
            else: q = -a*flux(pd, rho[dn], pu/pd)
            d[up] -= q; d[dn] += q
        return d
    sol = solve_ivp(f, (s, e), y0, method=c['method'], rtol=c['rtol'], atol=c['rtol']*1e-3)
    y = sol.y[:, -1]
    if open_[2]:
        v = vol(e); tot = y[3]+y[4]; y[3] = tot*v[3]/(v[3]+v[4]); y[4] = tot-y[3]
    m = [y[0], y[4], y[1], y[2], y[3]]
print(json.dumps({'mass': [float(v) for v in m], 'seconds': time.perf_counter()-began, 'evaluations': evals}))
`;

# Reference figures of tests/mixed_published.rs for the pines' straight lines: the likelihood of the
# linear mixed model written out with dense covariance matrices and maximised in 40 digits.
# Run in this folder with mpmath: python3 mixed_dense.py
# Prints for full (0) and restricted (1) likelihood: sd of intercept, of slope, of residuals,
# log-likelihood, intercept, slope.
import csv, mpmath as mp
mp.mp.dps=40
rows=[r for r in csv.DictReader(open('loblolly.csv')) if float(r['age'])>=10]
rows=[r for i,r in enumerate(rows) if i not in (0,1,8,15,16)]
g={}
for r in rows: g.setdefault(r['Seed'],[]).append((mp.mpf(r['age']),mp.mpf(r['height'])))
N=len(rows)
def nll(la,lb,reml):
    S=mp.zeros(3); ld=mp.mpf(0)
    for v in g.values():
        n=len(v); X=mp.matrix(n,3); V=mp.eye(n)
        for i,(x,y) in enumerate(v):
            X[i,0]=1; X[i,1]=x; X[i,2]=y
            for j,(x2,_) in enumerate(v): V[i,j]+=mp.e**(2*la)+mp.e**(2*lb)*x*x2
        ld+=mp.log(mp.det(V)); S+=X.T*mp.inverse(V)*X
    A=S[0:2,0:2]; c=S[0:2,2]; b=mp.lu_solve(A,c); rss=S[2,2]-(c.T*b)[0]
    n=N-2 if reml else N
    l=-(n*(1+mp.log(2*mp.pi*rss/n))+ld+(mp.log(mp.det(A)) if reml else 0))/2
    return l,rss/n,b
for reml in (0,1):
    f=lambda a,b: nll(a,b,reml)[0]
    h=mp.mpf(10)**-8
    ga=lambda a,b:(f(a+h,b)-f(a-h,b))/(2*h)
    gb=lambda a,b:(f(a,b+h)-f(a,b-h))/(2*h)
    r=mp.findroot(lambda a,b:[ga(a,b),gb(a,b)],(mp.log(1.79/1.395),mp.log((.01445 if not reml else .021)/1.4)),tol=1e-20)
    l,s2,b=nll(r[0],r[1],reml); s=mp.sqrt(s2)
    print(reml, [mp.nstr(v,14) for v in (mp.e**r[0]*s, mp.e**r[1]*s, s, l, b[0], b[1])])

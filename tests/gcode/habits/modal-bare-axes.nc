; modal: the motion word is said once
g21 g17 g90 g94
g0 z6
m3 s15000
x10 y10
z1
g1 z-1.5 f300
x60 f900
y40
x10
y10
g0 z6
m30

g 2 1
g0 z 5
G0 X +1 2 . 5 Y - 3
m3 s 8 000
g1 z -0. 5 f 2 5 0
x 2 0
m2

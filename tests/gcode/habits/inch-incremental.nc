%
(inch, incremental, every word on its own line)
G20
G90
G0 X1 Y1 Z0.5
M3 S12000
F20
G91
G1 Z-0.625
G1 X2
G1 Y1
G1 X-2
G1 Y-1
G90
G0 Z0.5
M5
M2
%

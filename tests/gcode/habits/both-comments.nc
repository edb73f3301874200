( tray, outer wall )
G21 (millimetres) G90 ; absolute
G0 Z4 ; up
G0 X1 (over) Y2 (the corner)
M3 S10000 ( on )
G1 Z-2 F300 ; down
G1 (across) X31
Y22 (away) ; and away
G0 Z4
M2 ( end )
; nothing here

 stress psi                                           0 lbf
 ██████
 ██  ██
 ██  ██
 ██  ██
 ██████

             █████  █████  ████  █████  ██  ██
             ██  ██ ██    ██  ██ ██  ██ ██  ██
             █████  ████  ██████ ██  ██  ████
             ██ ██  ██    ██  ██ ██  ██   ██
             ██  ██ █████ ██  ██ █████    ██
             bring the piston to first contact
 next: the ramp begins by itself at the seating load




 run 2 was interrupted: what was read is kept; W leads on
 Enter next F1 help F4 seen F9 end record W R I T places

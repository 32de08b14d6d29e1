#!/bin/sh
# Loads the largest console font that leaves 80 columns and 24 rows on the monitor, so that the screen
# can be read from two metres. Fails, and changes nothing, where there is no monitor or no such font
# (package console-setup-linux).
#
#   console-font.sh TTY [WIDTHxHEIGHT]     the monitor's pixels, if not those of the first one
set -eu

size=${2:-$(tr , x </sys/class/graphics/fb0/virtual_size)}
width=${size%x*} height=${size#*x}
# Name, columns and rows of pixels. A kernel that is too old for the first one refuses it.
while read -r font columns rows; do
    if [ $((width / columns)) -ge 80 ] && [ $((height / rows)) -ge 24 ]; then
        setfont -C "$1" "$font" && exit 0
    fi
done <<FONTS
Uni2-DejaVu59x32 32 59
Uni2-Terminus32x16 16 32
Uni2-Terminus28x14 14 28
Uni2-Terminus24x12 12 24
Uni2-Terminus20x10 10 20
Uni2-Terminus16 8 16
Uni2-Terminus14 8 14
FONTS
exit 1

#!/bin/sh
# Makes src/report/font/DejaVuSans-subset.ttf: the letters that the chart sheet uses, out of Debian's
# fonts-dejavu-core 2.37 (licence beside it). Needs Python's fonttools (4.68.0 was used).
set -eu
cd "$(dirname "$0")/../.."
pyftsubset /usr/share/fonts/truetype/dejavu/DejaVuSans.ttf \
    --unicodes="U+0020-007E,U+00A0-00FF,U+0100-017F,U+2013,U+2014,U+2018-201D,U+2026,U+2190-2193,U+2212,U+00B0,U+00D7" \
    --layout-features="" --no-hinting --output-file=src/report/font/DejaVuSans-subset.ttf

#!/bin/sh
# Chromium at the floor's end of the path.
exec ip netns exec "$FLOORBELL_BENCH_FLOOR" "${FLOORBELL_BENCH_CHROMIUM:-chromium}" "$@"

#!/usr/bin/env bash
# The session that tools/run plays without a terminal still ends where it should. Usage: demo.sh COREWRIGHT SOURCE_DIR
set -euo pipefail
said=$(COREWRIGHT_PACKS="$2/rules/harbour-lane" "$1" identify <"$2/tools/demo.txt")
if ! grep -q '^  Godwit 105 A (over 99 %)$' <<<"$said" || grep -q 'not among the answers' <<<"$said"; then
    printf '%s\n' "the demo no longer ends at the Godwit 105 A:" "$said"
    exit 1
fi

#!/usr/bin/env bash
# The library exports exactly what its public headers mark with CW_API. Usage: exports.sh LIBRARY HEADER_DIR
set -euo pipefail
exported=$(nm -D --defined-only "$1" | awk '$2 ~ /[TDBR]/ {print $3}' | grep -v '^__\|^_init$\|^_fini$' | sort -u)
declared=$(tr '\n' ' ' <<<"$(grep -hv '^#' "$2"/*.h)" | grep -o 'CW_API [^;]*;' | sed -E 's/\(.*//; s/.*[ *]//' | sort -u)
diff <(echo "$declared") <(echo "$exported") && echo "$(wc -l <<<"$exported") functions"

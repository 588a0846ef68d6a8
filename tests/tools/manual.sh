#!/usr/bin/env bash
# The manual page formats without a warning and names every option and command; the completion script parses and completes.
# Usage: manual.sh SOURCE_DIR
set -euo pipefail
tools=$1/tools
page=$tools/install/corewright.1
warnings=$(groff -mandoc -Tutf8 -ww -z "$page" 2>&1)
[ -z "$warnings" ] || { echo "$warnings"; exit 1; }
text=$(groff -mandoc -Tascii -P-c "$page" | sed 's/.\x08//g')
for word in $(sed -nE 's/^(OPTION|COMMAND)\("([^"]+)".*/\2/p' "$tools"/setup/option.def "$tools"/command.def); do
    grep -qF -- "$word" <<<"$text" || { echo "the manual does not know $word"; exit 1; }
done

source "$tools/install/corewright.bash"
complete_words()
{
    COMP_WORDS=("$@")
    COMP_CWORD=$(($# - 1))
    _corewright
    echo "${COMPREPLY[*]}"
}
expect() { [ "$1" = "$2" ] || { echo "completed '$2', expected '$1'"; exit 1; }; }
for word in $(sed -nE 's/^const calc calc_([a-z]+).*/\1/p' "$1"/engine/bench/calc_*.c); do
    grep -qF -- "calc $word" <<<"$text" || { echo "the manual does not show calc $word"; exit 1; }
    expect "$word" "$(complete_words corewright calc "$word")"
done
expect "identify" "$(complete_words corewright id)"
expect "teardown" "$(complete_words corewright te)"
expect "reassemble" "$(complete_words corewright rea)"
expect "family" "$(complete_words corewright begin fa)"
expect "version" "$(complete_words corewright begin ve)"
expect "apart" "$(complete_words corewright ap)"
expect "--sure --svg" "$(complete_words corewright apart --s)"
expect "replay" "$(complete_words corewright rep)"
expect "compare" "$(complete_words corewright com)"
expect "chart" "$(complete_words corewright ch)"
expect "triage" "$(complete_words corewright chart tr)"
expect "tabloid" "$(complete_words corewright chart triage --paper t)"
expect "--threads" "$(complete_words corewright compare --t)"
expect "--case" "$(complete_words corewright reassemble --c)"
expect "--answer --ask" "$(complete_words corewright teardown --a | tr ' ' '\n' | sort | paste -sd' ')"
expect "--place --packs" "$(complete_words corewright identify --p)"
expect "counter" "$(complete_words corewright identify --place co)"
# Whose option it is stands at the head of what it does; the rest are of identify and triage.
while IFS='|' read -r word does; do
    command=triage
    [[ $does == listen* ]] && command=listen
    [[ $does == scope* ]] && command=scope
    [[ $does == replay* ]] && command=replay
    [[ $does == begin* ]] && command=begin
    [[ $does == rules* ]] && command=rules
    [[ $does == learn* ]] && command=learn
    [[ $does == apart* ]] && command=apart
    [[ $does == chart* ]] && command="chart identify"
    # shellcheck disable=SC2086
    grep -qw -- "$word" <<<"$(complete_words corewright $command "$word")" || { echo "$command does not complete $word"; exit 1; }
done < <(sed -nE 's/^OPTION\("([^"]+)".*"([^"]*)"\)$/\1|\2/p' "$tools"/setup/option.def)

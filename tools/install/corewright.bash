# bash completion for corewright: commands, options, places, files
_corewright()
{
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" -eq 1 ]; then
        mapfile -t COMPREPLY < <(compgen -W 'identify triage teardown reassemble proof calc begin listen scope rules apart replay compare learn chart --help --version' -- "$word")
        return
    fi
    case $before in
        --place) mapfile -t COMPREPLY < <(compgen -W 'counter vehicle bench teardown' -- "$word"); return ;;
        --packs | --corpus) mapfile -t COMPREPLY < <(compgen -d -- "$word"); return ;;
        --case | --save | --svg | --pdf | --junit | --into) mapfile -t COMPREPLY < <(compgen -f -- "$word"); return ;;
        --unit | --answer | --words | --rpm | --ratio | --speed-error | --poles | --slots | --blades | --belt | --pulley | --rate | --threads | --explain | --deep | --file | --worth | --worth-seen | --sure) return ;;
        --paper) mapfile -t COMPREPLY < <(compgen -W 'a4 a3 letter tabloid' -- "$word"); return ;;
        --bearing | --rear-bearing) return ;;
    esac
    case ${COMP_WORDS[1]} in
        identify | triage | teardown | proof)
            mapfile -t COMPREPLY < <(compgen -W '--case --ask --save --unit --answer --words --place --packs --json --no-color --help' \
                -- "$word") ;;
        reassemble)
            mapfile -t COMPREPLY < <(compgen -W '--case --ask --save --unit --answer --packs --json --no-color --help' -- "$word") ;;
        calc)
            [ "$COMP_CWORD" -eq 2 ] && mapfile -t COMPREPLY < <(compgen -W 'cable resistance heating rotor setpoint battery
                drain output pulley belt bearing flaws tones rectifier' -- "$word")
            [ "$COMP_CWORD" -gt 2 ] && mapfile -t COMPREPLY < <(compgen -W '--json' -- "$word") ;;
        begin)
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--corpus --file --no-color --help' -- "$word")
            elif [ "$COMP_CWORD" -eq 2 ]; then
                mapfile -t COMPREPLY < <(compgen -W 'family version cause check' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -d -- "$word")
            fi ;;
        listen | scope)
            local words='--rpm --ratio --speed-error --poles --case --svg --json --no-color --help'
            [ "${COMP_WORDS[1]}" = scope ] && words+=' --rate'
            [ "${COMP_WORDS[1]}" = listen ] && words+=' --slots --blades --bearing --rear-bearing --belt --pulley'
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -f -- "$word")
            fi ;;
        chart)
            if [ "$COMP_CWORD" -eq 2 ]; then
                mapfile -t COMPREPLY < <(compgen -W 'identify triage' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -W '--deep --paper --svg --pdf --case --answer --words --unit --place --packs --help' -- "$word")
            fi ;;
        replay)
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--packs --ask --json --junit --threads --no-color --help' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -f -- "$word")
            fi ;;
        rules)
            if [[ $word == --compile=* ]]; then
                mapfile -t COMPREPLY < <(compgen -P --compile= -f -- "${word#--compile=}")
            elif [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--compile --explain --json --sarif --watch --packs --no-color --help' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -d -- "$word")
            fi ;;
        learn)
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--packs --into --worth --worth-seen --json --threads --no-color --help' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -f -- "$word")
            fi ;;
        apart)
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--units --causes --place --sure --svg --json --packs --no-color --help' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -d -- "$word")
            fi ;;
        compare)
            if [[ $word == -* ]]; then
                mapfile -t COMPREPLY < <(compgen -W '--json --threads --no-color --help' -- "$word")
            else
                mapfile -t COMPREPLY < <(compgen -f -- "$word")
            fi ;;
    esac
}
complete -o filenames -F _corewright corewright

# bash completion of holdfast 0.1.0; made by "holdfast completion bash"
_holdfast() {
  local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command= i
  COMPREPLY=()
  for ((i = 1; i < COMP_CWORD; i++)); do
    case " prove soak how-long cure drift hand walk rig-check attach follow check expect grade draw generate divider calibrate budget write replay tell page export history compare tubes note rebuild-index release verify key ports identify serve-bench confirm-off settings completion " in *" ${COMP_WORDS[i]} "*) command=${COMP_WORDS[i]}; break ;; esac
  done
  case "$before" in
    --board|--codes|--csv|--into|--keys|--link|--log|--meter-port|--out|--picture|--points|--port|--rig|--runs|--svg|--to|--unit|--vcd|--vectors|--wire-log) COMPREPLY=($(compgen -f -- "$word")); return ;;
    --allowing|--by|--capacitor|--channel|--channels|--corrects|--cycles|--errors|--every|--expires|--fault|--found|--go-on-after|--high|--high-ohm|--hours|--key|--key-name|--last|--loading|--low|--low-ohm|--meter|--meter-baud|--meter-checked|--meter-percent|--meter-volts|--minutes|--net|--note|--one-in|--pace|--position|--powered|--reference|--removed|--resume|--retest|--seed|--series|--steps|--sure|--unit|--volts|--why|--with) return ;;
  esac
  if [[ $word == -* ]]; then
    case "$command" in
      prove) COMPREPLY=($(compgen -W "--port --seed --pace --unit --runs --wire-log --plain --json --ascii --mute --no-color --yes --fault --detach --freeze --modelled --standby -h --help" -- "$word")) ;;
      soak) COMPREPLY=($(compgen -W "--port --seed --pace --unit --runs --wire-log --plain --json --ascii --mute --no-color --yes --fault --detach --hours --cycles --errors --every --go-on-after --go-on --unattended --night --modelled -h --help" -- "$word")) ;;
      how-long) COMPREPLY=($(compgen -W "--one-in --sure --allowing --json -h --help" -- "$word")) ;;
      cure) COMPREPLY=($(compgen -W "--net --sure --json -h --help" -- "$word")) ;;
      drift) COMPREPLY=($(compgen -W "--json -h --help" -- "$word")) ;;
      hand) COMPREPLY=($(compgen -W "--port --seed --pace --unit --runs --wire-log --plain --json --ascii --mute --no-color --yes --fault --detach --minutes -h --help" -- "$word")) ;;
      walk) COMPREPLY=($(compgen -W "--port --fault -h --help" -- "$word")) ;;
      rig-check) COMPREPLY=($(compgen -W "--quick --modelled --port --seed --pace --unit --runs --wire-log --plain --json --ascii --mute --no-color --yes --fault -h --help" -- "$word")) ;;
      attach) COMPREPLY=($(compgen -W "--runs --plain --json --ascii --mute --no-color -h --help" -- "$word")) ;;
      follow) COMPREPLY=($(compgen -W "--runs --plain --json --ascii --mute --no-color -h --help" -- "$word")) ;;
      check) COMPREPLY=($(compgen -W "-h --help" -- "$word")) ;;
      expect) COMPREPLY=($(compgen -W "--fill --out --pulses --json -h --help" -- "$word")) ;;
      grade) COMPREPLY=($(compgen -W "--vectors --all --picture --json -h --help" -- "$word")) ;;
      draw) COMPREPLY=($(compgen -W "--svg --wiring --csv --ascii -h --help" -- "$word")) ;;
      generate) COMPREPLY=($(compgen -W "--seed --steps --out --json -h --help" -- "$word")) ;;
      divider) COMPREPLY=($(compgen -W "--low --high --low-ohm --high-ohm --loading --fault --reference --series --capacitor --json -h --help" -- "$word")) ;;
      calibrate) COMPREPLY=($(compgen -W "--port --channels --into --meter --meter-checked --meter-percent --meter-volts --meter-port --meter-baud --by --expires --points --codes --resume --keep --seed --yes --fault -h --help" -- "$word")) ;;
      budget) COMPREPLY=($(compgen -W "--channel --json -h --help" -- "$word")) ;;
      write) COMPREPLY=($(compgen -W "--board --rig --overwrite -h --help" -- "$word")) ;;
      replay) COMPREPLY=($(compgen -W "-h --help" -- "$word")) ;;
      tell) COMPREPLY=($(compgen -W "--paste -h --help" -- "$word")) ;;
      page) COMPREPLY=($(compgen -W "--to -h --help" -- "$word")) ;;
      export) COMPREPLY=($(compgen -W "--csv --vcd -h --help" -- "$word")) ;;
      history) COMPREPLY=($(compgen -W "--last --net --svg --json --ascii --runs -h --help" -- "$word")) ;;
      compare) COMPREPLY=($(compgen -W "--with --json --runs -h --help" -- "$word")) ;;
      tubes) COMPREPLY=($(compgen -W "--json --ascii --runs -h --help" -- "$word")) ;;
      note) COMPREPLY=($(compgen -W "--removed --retest --found --note --unit --position --baseline --runs -h --help" -- "$word")) ;;
      rebuild-index) COMPREPLY=($(compgen -W "--runs -h --help" -- "$word")) ;;
      release) COMPREPLY=($(compgen -W "--by --corrects --why --key-name --keys -h --help" -- "$word")) ;;
      verify) COMPREPLY=($(compgen -W "--key --keys -h --help" -- "$word")) ;;
      key) COMPREPLY=($(compgen -W "--keys -h --help" -- "$word")) ;;
      ports) COMPREPLY=($(compgen -W "-h --help" -- "$word")) ;;
      identify) COMPREPLY=($(compgen -W "--port --keep --forget --json -h --help" -- "$word")) ;;
      serve-bench) COMPREPLY=($(compgen -W "--pace --seed --powered --link --log --modelled --stop-with-input --fault -h --help" -- "$word")) ;;
      confirm-off) COMPREPLY=($(compgen -W "--by --volts --runs -h --help" -- "$word")) ;;
      settings) COMPREPLY=($(compgen -W "-h --help" -- "$word")) ;;
      completion) COMPREPLY=($(compgen -W "-h --help" -- "$word")) ;;
      *) COMPREPLY=($(compgen -W "-V --version -h --help --port --seed --pace --unit --runs --wire-log --plain --json --ascii --mute --no-color --yes --fault --detach --freeze --modelled --standby -h --help" -- "$word")) ;;
    esac
  elif [[ -z $command ]]; then
    COMPREPLY=($(compgen -W "prove soak how-long cure drift hand walk rig-check attach follow check expect grade draw generate divider calibrate budget write replay tell page export history compare tubes note rebuild-index release verify key ports identify serve-bench confirm-off settings completion" -- "$word") $(compgen -f -- "$word"))
  else
    COMPREPLY=($(compgen -f -- "$word"))
  fi
}
complete -o filenames -F _holdfast holdfast

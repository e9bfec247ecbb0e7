#!/bin/sh
# One shard of a study, as a task of a Slurm job array:
#
#   sbatch --array=1-N array.sh STUDY FOLDER N
#
# FOLDER is on a file system that every machine sees. Task I works on shard I of N in FOLDER/shard-I-of-N, with the
# cycle tables of FOLDER/cache. It always goes on with what is there, so a task may be requeued or submitted again at
# any time. $SHEAVE is the program (default: sheave).
#SBATCH --job-name=sheave
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output=slurm-%A_%a.out
#SBATCH --signal=B:USR1@60
set -eu
if [ $# -ne 3 ] || [ -z "${SLURM_ARRAY_TASK_ID:-}" ]; then
    echo "Usage: sbatch --array=1-N array.sh STUDY FOLDER N" >&2
    exit 2
fi
study=$1 folder=$2 shard=$SLURM_ARRAY_TASK_ID count=$3
restarts=${SLURM_RESTART_COUNT:-0}

say() {
    echo "$(date -u +%Y-%m-%dT%H:%M:%SZ) shard $shard of $count: $*"
}

# The program ends by itself on SIGTERM and keeps all that is done. SIGUSR1 comes a minute before the time limit
# (--signal above): then the task asks for another turn. SIGTERM is scancel's, or that of a machine that is wanted for
# something else: no turn is asked for.
program='' caught='' again=''
# shellcheck disable=SC2317
stop() {
    caught=yes
    if [ -n "$program" ]; then
        kill -TERM "$program" 2>/dev/null || true
    fi
}
trap 'again=yes; stop' USR1
trap 'stop' TERM

say "start $restarts on $(hostname)"
"${SHEAVE:-sheave}" run "$study" --shard "$shard/$count" --out "$folder/shard-$shard-of-$count" \
    --cache "$folder/cache" --threads "${SLURM_CPUS_PER_TASK:-1}" --resume --quiet &
program=$!
if [ -n "$caught" ]; then # the signal was faster than the line above
    kill -TERM "$program" 2>/dev/null || true
fi
code=0
wait "$program" || code=$?
while [ -n "$caught" ]; do # a signal ends the wait, not the program
    caught='' rest=0
    wait "$program" || rest=$?
    if [ "$rest" -ne 127 ]; then # 127: the wait before had the program's own code
        code=$rest
    fi
done
say "exit code $code"
if [ "$code" -eq 130 ] && [ -n "$again" ] && [ "$restarts" -lt 100 ]; then
    say "out of time: requeued"
    scontrol requeue "${SLURM_ARRAY_JOB_ID}_$shard"
    sleep 60 # the requeue ends this script; whatever comes after would be taken for its end
fi
exit "$code"

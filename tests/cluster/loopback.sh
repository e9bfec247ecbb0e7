#!/bin/sh
# Runs a study as a job array under a real Slurm on this machine alone: loopback.sh [SHEAVE]
#
# munged, slurmctld and two slurmd ("machines" of one processor each) are brought up on the loopback, with all that
# they write in a temporary folder, and taken down again. One task is killed and requeued, one is told that its time is
# up, one loses its machine; what merge writes must be, byte for byte, what a single run writes. Needs the Debian
# packages slurm-wlm and munge. No cgroups, systemd, accounting or configuration of the machine are needed.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
PATH=$PATH:/usr/sbin:/sbin

for name in munged munge slurmctld slurmd sbatch squeue scontrol scancel sinfo python3; do
    if ! command -v "$name" >/dev/null 2>&1; then
        echo "$name is not installed (Debian packages slurm-wlm and munge)." >&2
        exit 3
    fi
done
sheave=${1:-$here/../../build/sheave}
if [ ! -x "$sheave" ]; then
    echo "There is no program $sheave; usage: loopback.sh [SHEAVE]" >&2
    exit 2
fi

# What a surrounding job may have set is not for this Slurm.
for name in $(env | sed -n 's/^\(S[A-Z]*_[A-Z0-9_]*\)=.*/\1/p' | grep -E '^(SLURM|SBATCH|SQUEUE|SINFO|SCANCEL)_'); do
    unset "$name"
done

work=$(mktemp -d "${TMPDIR:-/tmp}/sheave-slurm.XXXXXX")
chmod 755 "$work" # munged looks at it
export SLURM_CONF="$work/slurm.conf"
count=4
passed=''

say() {
    echo "$(date +%T) $*"
}

# until_true SECONDS WHAT COMMAND...: waits; ends the test when time is up.
until_true() {
    limit=$(($(date +%s) + $1)) what=$2
    shift 2
    until "$@"; do
        if [ "$(date +%s)" -ge "$limit" ]; then
            echo "FAILED: waited in vain for: $what" >&2
            squeue >&2 || true
            exit 1
        fi
        sleep 0.2
    done
}

end_daemon() {
    [ -s "$1" ] || return 0
    pid=$(cat "$1")
    kill "$pid" 2>/dev/null || return 0
    tries=0
    while kill -0 "$pid" 2>/dev/null && [ "$tries" -lt 100 ]; do
        sleep 0.1
        tries=$((tries + 1))
    done
    kill -KILL "$pid" 2>/dev/null || true
}

nothing_runs() {
    [ -z "$(timeout 10 squeue -h -o %i 2>/dev/null)" ]
}

take_down() {
    trap '' INT TERM HUP
    if [ -s "$work/slurmctld.pid" ]; then
        timeout 10 scancel --user="$(id -un)" 2>/dev/null || true
        tries=0
        until nothing_runs || [ "$tries" -ge 50 ]; do
            sleep 0.2
            tries=$((tries + 1))
        done
    fi
    for daemon in slurmd-one slurmd-two slurmctld munged; do
        end_daemon "$work/$daemon.pid"
    done
    if [ -z "$passed" ]; then
        for log in "$work"/*.log "$work"/slurm-*.out; do
            [ -e "$log" ] || continue
            echo "---- $(basename "$log")" >&2
            tail -n 20 "$log" >&2
        done
    fi
    rm -rf "$work"
}
trap take_down EXIT
trap 'exit 130' INT TERM HUP

# ---- a Slurm of its own ----

ports=$(python3 -c '
import socket
sockets = [socket.create_server(("127.0.0.1", 0)) for _ in range(3)]
print(*(s.getsockname()[1] for s in sockets))')
# shellcheck disable=SC2086
set -- $ports
host=$(hostname -s)
user=$(id -un)
# linuxproc and none: no cgroups. cred_expire: a requeued task waits that long, 120 s by default.
cat >"$SLURM_CONF" <<END
ClusterName=loopback
SlurmctldHost=$host(127.0.0.1)
SlurmctldPort=$1
SlurmUser=$user
SlurmdUser=$user
AuthType=auth/munge
AuthInfo=socket=$work/munge.socket,cred_expire=5
StateSaveLocation=$work/state
SlurmdSpoolDir=$work/spool-%n
SlurmctldPidFile=$work/slurmctld.pid
SlurmdPidFile=$work/slurmd-%n.pid
SlurmctldLogFile=$work/slurmctld.log
SlurmdLogFile=$work/slurmd-%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
JobCompType=jobcomp/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SchedulerParameters=batch_sched_delay=1,sched_interval=2
SwitchType=switch/none
MpiDefault=none
MailProg=/bin/true
KillWait=5
SlurmdParameters=config_overrides
NodeName=one NodeHostname=$host NodeAddr=127.0.0.1 Port=$2 CPUs=1
NodeName=two NodeHostname=$host NodeAddr=127.0.0.1 Port=$3 CPUs=1
PartitionName=all Nodes=one,two Default=YES MaxTime=INFINITE State=UP
END
mkdir "$work/state" "$work/spool-one" "$work/spool-two"
(umask 077 && head -c 1024 /dev/urandom >"$work/munge.key")
munged --socket="$work/munge.socket" --key-file="$work/munge.key" --pid-file="$work/munged.pid" \
    --log-file="$work/munged.log" --seed-file="$work/munge.seed"
slurmctld
slurmd -N one
slurmd -N two

idle_nodes() {
    [ "$(sinfo -h -N -t idle -o %N 2>/dev/null | wc -l)" -eq 2 ]
}
until_true 60 "two idle machines" idle_nodes
say "$(slurmctld -V), machines: $(sinfo -h -N -o '%N %T' | tr '\n' ' ')"

# ---- the study: once alone, once as an array ----

cp "$here/study.cfg" "$here/tables.sh" "$here/array.sh" "$here/merge.sh" "$work"
cp "$sheave" "$work/sheave"
export SHEAVE="$work/sheave"
cd "$work"
mkdir shared

"$SHEAVE" run study.cfg --out single --cache single-cache --quiet >single.out
say "single run: $(sed -n 's/^.*Z \(sweep done.*\)$/\1/p' single/run.log)"

tables=$(sbatch --parsable tables.sh study.cfg shared)
array=$(sbatch --parsable --array="1-$count" --dependency="afterok:$tables" array.sh study.cfg shared "$count")
merge=$(sbatch --parsable --dependency="afterok:$array" merge.sh study.cfg shared "$count")
say "submitted: tables $tables, array ${array}_[1-$count], merge $merge"

state() { # of a job
    scontrol -o show job "$1" 2>/dev/null | sed -n '1s/.* JobState=\([A-Z_]*\).*/\1/p'
}

is() { # JOB STATE
    [ "$(state "$1")" = "$2" ]
}

show() {
    squeue -S i -o '    %.8i %.14j %.12T %.6M %R'
}

# With some work in the journal, so that there is something to go on with.
at_work() {
    [ "$(state "${array}_$1")" = RUNNING ] && [ -s "shared/shard-$1-of-$count/journal.db" ] && sleep 1.5 &&
        program_of "$1"
}

# Sets $pid to the program of a task.
program_of() {
    job=$(scontrol -o show job "${array}_$1" | sed -n '1s/^JobId=\([0-9]*\) .*/\1/p')
    node=$(scontrol -o show job "${array}_$1" | sed -n '1s/.* BatchHost=\([a-z]*\).*/\1/p')
    for pid in $(scontrol listpids "$job" "$node" 2>/dev/null | awk 'NR > 1 && $1 > 0 { print $1 }'); do
        if [ "$(cat "/proc/$pid/comm" 2>/dev/null)" = sheave ]; then
            return 0
        fi
    done
    return 1
}

until_true 120 "shard 2 at work" at_work 2
kept=$(ls -l --full-time shared/cache) # built before the array began; nobody should do it again
show
kill -KILL "$pid"
say "kill -KILL of the program of ${array}_2"
until_true 60 "the end of ${array}_2" is "${array}_2" FAILED
say "${array}_2: $(scontrol -o show job "${array}_2" | grep -o 'JobState=[A-Z]*\|Reason=[A-Za-z]*\|ExitCode=[0-9:]*' | tr '\n' ' ')"

until_true 120 "shard 3 at work" at_work 3
# scancel tries again for as long as the task is between two turns; once is what is wanted.
timeout 3 scancel --batch --signal=USR1 "${array}_3" 2>/dev/null || true
say "${array}_3 was told that its time is up"

# Everything of a machine goes at once, as when its power fails.
parent_of() {
    awk '{ print $4 }' "/proc/$1/stat"
}
until_true 120 "shard 4 at work" at_work 4
lost=$node script=$(parent_of "$pid")
kill -KILL "$(cat "slurmd-$lost.pid")" "$(parent_of "$script")" "$script" "$pid"
scontrol update "NodeName=$lost" State=DOWN Reason=lost
say "lost machine $lost in the middle of ${array}_4"
returned() {
    ! sinfo -h -N -n "$lost" -o %T | grep -q down
}
until_true 30 "the end of what ran on $lost" is "${array}_4" PENDING
slurmd -N "$lost"
scontrol update "NodeName=$lost" State=RESUME
until_true 60 "the return of $lost" returned

never() {
    squeue -h -j "$merge" -o %r | grep -q DependencyNeverSatisfied
}
until_true 60 "the merge that can't begin" never
show
# Slurm remembers for the array as a whole that a task failed, so afterok will not do any more.
scontrol requeue "${array}_2"
scontrol update "JobId=$merge" "Dependency=afterany:$array"
say "requeued ${array}_2, told $merge to wait again"
show

until_true 300 "the merge" is "$merge" COMPLETED
for shard in 1 2 3 4; do
    say "shard $shard: $(scontrol -o show job "${array}_$shard" | grep -o 'JobState=[A-Z]*\|Restarts=[0-9]*\|ExitCode=[0-9:]*' | tr '\n' ' ')" \
        "$(sed -n 's/^[^ ]* \(.*were done before\)$/\1/p' "shared/shard-$shard-of-$count/run.log")"
done

# ---- what came out ----

failed=''
for shard in 2 3 4; do # all must have gone on, not begun anew
    if ! grep -q ' were done before$' "shared/shard-$shard-of-$count/run.log" ||
        grep -q ' \(0\.0\|100\.0\) % were done before$' "shared/shard-$shard-of-$count/run.log"; then
        echo "FAILED: shard $shard did not go on in the middle" >&2
        failed=yes
    fi
done
if [ "$(ls -l --full-time shared/cache)" != "$kept" ]; then
    echo "FAILED: a task has written cycle tables" >&2
    failed=yes
fi
for name in ranked.csv curves.csv rejected.csv optimum.csv limit_worth.csv; do
    if cmp "single/$name" "shared/$name"; then
        say "$name: the same, $(wc -c <"shared/$name") bytes"
    else
        failed=yes
    fi
done
if [ -n "$failed" ]; then
    exit 1
fi
sed 's/^/    /' "slurm-${array}_2.out"
passed=yes
say "passed"

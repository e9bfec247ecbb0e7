#!/bin/sh
# Joins the shards of a study that array.sh has left in FOLDER, and writes the results there:
#
#   sbatch --dependency=afterok:ARRAY merge.sh STUDY FOLDER N
#
#SBATCH --job-name=sheave-merge
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output=slurm-%j.out
set -eu
if [ $# -ne 3 ]; then
    echo "Usage: sbatch --dependency=afterok:ARRAY merge.sh STUDY FOLDER N" >&2
    exit 2
fi
study=$1 folder=$2 count=$3
set --
shard=1
while [ "$shard" -le "$count" ]; do
    set -- "$@" "$folder/shard-$shard-of-$count"
    shard=$((shard + 1))
done
exec "${SHEAVE:-sheave}" merge "$@" --study "$study" --out "$folder" --cache "$folder/cache" \
    --threads "${SLURM_CPUS_PER_TASK:-1}" --quiet

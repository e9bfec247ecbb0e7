#!/bin/sh
# Builds the cycle tables of a study once, before array.sh:
#
#   sbatch tables.sh STUDY FOLDER
#
# They are kept in FOLDER/cache. A study without the closed cycle needs none of this.
#SBATCH --job-name=sheave-tables
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output=slurm-%j.out
set -eu
if [ $# -ne 2 ]; then
    echo "Usage: sbatch tables.sh STUDY FOLDER" >&2
    exit 2
fi
export OMP_NUM_THREADS="${SLURM_CPUS_PER_TASK:-1}"
exec "${SHEAVE:-sheave}" check "$1" --cache "$2/cache" --skip-time

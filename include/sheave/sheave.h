/* libsheave: load a study, sweep its space, judge a kit, search for the best, ask how sure that is,
 * plan a range, fit to measurements, write results. docs/example.c is a program that does the first
 * four.
 *
 * What these headers include in their turn are the structs that a study and its results are made
 * of. All numbers are SI. Functions that can fail return a status and fill a message. */
#ifndef SHEAVE_SHEAVE_H
#define SHEAVE_SHEAVE_H

#include "sheave/blower_fit.h"
#include "sheave/fit.h"
#include "sheave/journal.h"
#include "sheave/model.h"
#include "sheave/nearest.h"
#include "sheave/optimum.h"
#include "sheave/limit_worth.h"
#include "sheave/range_kits.h"
#include "sheave/report.h"
#include "sheave/space.h"
#include "sheave/status.h"
#include "sheave/study.h"
#include "sheave/sweep.h"
#include "sheave/tables.h"
#include "sheave/tolerance.h"
#include "sheave/version.h"

#endif

/* All of libsheave. */
#ifndef SHEAVE_SHEAVE_H
#define SHEAVE_SHEAVE_H

#include "sheave/air.h"
#include "sheave/bearing.h"
#include "sheave/belt.h"
#include "sheave/blend.h"
#include "sheave/blower.h"
#include "sheave/cooler.h"
#include "sheave/curve.h"
#include "sheave/cycle.h"
#include "sheave/drive.h"
#include "sheave/engine.h"
#include "sheave/fuel.h"
#include "sheave/fuel_system.h"
#include "sheave/limits.h"
#include "sheave/model.h"
#include "sheave/optimum.h"
#include "sheave/rank.h"
#include "sheave/report.h"
#include "sheave/space.h"
#include "sheave/status.h"
#include "sheave/study.h"
#include "sheave/sweep.h"
#include "sheave/units.h"
#include "sheave/version.h"

#endif

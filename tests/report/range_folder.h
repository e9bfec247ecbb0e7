/* The files of a range plan, by hand. */
#ifndef SHEAVE_TESTS_REPORT_RANGE_FOLDER_H
#define SHEAVE_TESTS_REPORT_RANGE_FOLDER_H

#include "report/folder.h"

static inline int range_setup(void **state)
{
    int made = fixture_setup(state);
    struct fixture *f = *state;
    folder_write(f->folder, "curve.csv",
                 "parts_allowed,parts,value_power_kW,value_share,lost_pct,knee,plan\r\n"
                 "3,3,1000,,20,no,no\r\n4,4,1200,,4,yes,yes\r\n5,5,1250,,0,no,no\r\n");
    folder_write(
        f->folder, "range.csv",
        "vehicle,market,sales,power_kW,binding_limit\r\n\"a \"\"van\"\"\",<coast>,40,120.25,"
        "fuel_flow\r\nboat,inland,,99,\r\n");
    folder_write(f->folder, "stock.csv", "kind,name,sales\r\nblower_pulley,short,40\r\n");
    return made;
}

#endif

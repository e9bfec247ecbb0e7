# The closed cycle against its independent twin, and docs/model.md against its tables. To be included by
# tests/oracle/CMakeLists.txt.
add_executable(cycle_dump ${CMAKE_CURRENT_LIST_DIR}/cycle_dump.c)
target_link_libraries(cycle_dump PRIVATE sheave_static sheave_flags)
add_test(NAME oracle/cycle
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/cycle_oracle.py $<TARGET_FILE:cycle_dump>)
set_tests_properties(oracle/cycle PROPERTIES TIMEOUT 600 COST 200)
add_test(NAME oracle/cycle_tables
         COMMAND /usr/bin/python3 ${CMAKE_CURRENT_LIST_DIR}/cycle_oracle.py --tables
                 ${CMAKE_CURRENT_LIST_DIR}/../../docs/model.md $<TARGET_FILE:cycle_dump>)

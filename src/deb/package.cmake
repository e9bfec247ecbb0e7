# What an installation has besides program, library and headers: manual page, completion; and the Debian package:
#   cpack -G DEB --config build/CPackConfig.cmake
find_program(GZIP_PROGRAM gzip REQUIRED)

# ---- made by the program from its own tables ----
set(SHEAVE_MANUAL ${CMAKE_BINARY_DIR}/sheave.1)
set(SHEAVE_COMPLETION ${CMAKE_BINARY_DIR}/sheave.bash)
add_custom_command(OUTPUT ${SHEAVE_MANUAL} ${SHEAVE_MANUAL}.gz ${SHEAVE_COMPLETION}
                   COMMAND sheave --man > ${SHEAVE_MANUAL}
                   COMMAND ${GZIP_PROGRAM} -9 -n -k -f ${SHEAVE_MANUAL}
                   COMMAND sheave --completion > ${SHEAVE_COMPLETION}
                   DEPENDS sheave VERBATIM)
add_custom_target(manual ALL DEPENDS ${SHEAVE_MANUAL} ${SHEAVE_COMPLETION})
install(FILES ${SHEAVE_MANUAL}.gz DESTINATION ${CMAKE_INSTALL_MANDIR}/man1)
install(FILES ${SHEAVE_COMPLETION} DESTINATION ${CMAKE_INSTALL_DATADIR}/bash-completion/completions RENAME sheave)

# ---- what Debian asks of a package ----
file(STRINGS ${PROJECT_SOURCE_DIR}/LICENSE SHEAVE_LICENCE_LINES)
set(SHEAVE_LICENCE_TEXT)
foreach(line IN LISTS SHEAVE_LICENCE_LINES)
  string(REGEX REPLACE "^Copyright \\(c\\) " "" owner "${line}")
  if(NOT owner STREQUAL line)
    set(SHEAVE_COPYRIGHT "${owner}")
  elseif(NOT line MATCHES "^MIT License")
    string(APPEND SHEAVE_LICENCE_TEXT " ${line}\n")
  endif()
endforeach()
string(REGEX REPLACE "^( \n)+" "" SHEAVE_LICENCE_TEXT "${SHEAVE_LICENCE_TEXT}")
string(REGEX REPLACE "\n \n" "\n .\n" SHEAVE_LICENCE_TEXT "${SHEAVE_LICENCE_TEXT}")
configure_file(${CMAKE_CURRENT_LIST_DIR}/copyright.in ${CMAKE_BINARY_DIR}/copyright @ONLY)
set(SHEAVE_DEB_CHANGELOG ${CMAKE_BINARY_DIR}/changelog.gz)
add_custom_command(OUTPUT ${SHEAVE_DEB_CHANGELOG}
                   COMMAND ${GZIP_PROGRAM} -9 -n -c ${CMAKE_CURRENT_LIST_DIR}/changelog > ${SHEAVE_DEB_CHANGELOG}
                   DEPENDS ${CMAKE_CURRENT_LIST_DIR}/changelog VERBATIM)
add_custom_target(deb_changelog ALL DEPENDS ${SHEAVE_DEB_CHANGELOG})
install(FILES ${CMAKE_BINARY_DIR}/copyright ${SHEAVE_DEB_CHANGELOG} DESTINATION ${CMAKE_INSTALL_DOCDIR})

set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME sheave)
set(CPACK_PACKAGE_VENDOR "Sheave maintainers")
set(CPACK_PACKAGE_CONTACT "Sheave maintainers <maintainers@sheave.example>")
set(CPACK_PACKAGE_HOMEPAGE_URL "https://sheave.example/")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "finds the pulley, blower and charge cooler of a supercharger kit")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
    OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PACKAGE_RECOMMENDS gnuplot-nox)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_PACKAGE_DESCRIPTION
    "From a study file - the engine as it left the factory, the places where it\n\
will run, a shelf of blowers, a drawer of pulleys, charge coolers, fuels and\n\
limits - sheave matches blower and engine over the rev range for every\n\
combination, ranks those that hold every limit, and tells what holds the\n\
others back.")
include(CPack)

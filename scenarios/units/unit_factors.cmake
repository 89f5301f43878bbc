# unit_factors.inc, the numbers behind unit_table.hpp: made by UDUNITS-2 during the build, or taken ready-made
# from STOVERTURN_UNIT_FACTORS where UDUNITS-2 cannot run (WebAssembly). Sets
#   STOVERTURN_UNIT_FACTORS_DIR  folder to include from
#   STOVERTURN_UNIT_FACTORS_INC  the file, to be listed among the sources of the library
# and defines stoverturn::udunits2 where the library is found (generator and tests only).
set(STOVERTURN_UNIT_FACTORS_DIR ${CMAKE_CURRENT_BINARY_DIR}/units)
set(STOVERTURN_UNIT_FACTORS_INC ${STOVERTURN_UNIT_FACTORS_DIR}/unit_factors.inc)
file(MAKE_DIRECTORY ${STOVERTURN_UNIT_FACTORS_DIR})

find_path(UDUNITS2_INCLUDE_DIR udunits2.h PATH_SUFFIXES udunits2)
find_library(UDUNITS2_LIBRARY udunits2)
mark_as_advanced(UDUNITS2_INCLUDE_DIR UDUNITS2_LIBRARY)
if(UDUNITS2_INCLUDE_DIR AND UDUNITS2_LIBRARY AND NOT TARGET stoverturn::udunits2)
  add_library(stoverturn::udunits2 UNKNOWN IMPORTED GLOBAL)
  set_target_properties(stoverturn::udunits2 PROPERTIES
    IMPORTED_LOCATION ${UDUNITS2_LIBRARY}
    INTERFACE_INCLUDE_DIRECTORIES ${UDUNITS2_INCLUDE_DIR})
endif()

if(STOVERTURN_UNIT_FACTORS)
  configure_file(${STOVERTURN_UNIT_FACTORS} ${STOVERTURN_UNIT_FACTORS_INC} COPYONLY)
elseif(TARGET stoverturn::udunits2)
  add_executable(stoverturn_make_unit_factors ${CMAKE_CURRENT_LIST_DIR}/make_unit_factors.cpp)
  target_include_directories(stoverturn_make_unit_factors PRIVATE ${PROJECT_SOURCE_DIR})
  target_link_libraries(stoverturn_make_unit_factors PRIVATE stoverturn::udunits2 stoverturn_options)
  add_custom_command(OUTPUT ${STOVERTURN_UNIT_FACTORS_INC}
    COMMAND stoverturn_make_unit_factors ${STOVERTURN_UNIT_FACTORS_INC}
    DEPENDS stoverturn_make_unit_factors
    COMMENT "Unit factors from UDUNITS-2" VERBATIM)
else()
  message(FATAL_ERROR "UDUNITS-2 not found: install libudunits2-dev, or set STOVERTURN_UNIT_FACTORS to a "
    "unit_factors.inc made by another build")
endif()

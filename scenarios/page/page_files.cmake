# The library stoverturn_page: what pages and figures hold, from this folder and from npm.
if(NOT STOVERTURN_PAGES)
  add_library(stoverturn_page page/no_page_files.cpp)
else()
  enable_language(ASM)
  set(page ${CMAKE_BINARY_DIR}/page)
  set(page_scripts ${CMAKE_CURRENT_SOURCE_DIR}/page)
  set(page_wants $<IF:$<BOOL:${STOVERTURN_TESTS}>,test,run>)
  add_custom_command(OUTPUT ${page}/vega.min.js ${page}/licences.txt
    COMMAND ${page_scripts}/libraries ${page} ${page_wants}
    DEPENDS ${page_scripts}/libraries ${page_scripts}/package-lock.json ${page_scripts}/browser-builds.sha256
    COMMENT "Libraries of the pages from npm" VERBATIM)
  add_custom_command(OUTPUT ${page}/report-scripts.js ${page}/figure-scripts.js
    COMMAND ${page_scripts}/bundle ${page} ${page}/report-scripts.js ${page_scripts}/charts.js ${page_scripts}/report.js
    COMMAND ${page_scripts}/bundle ${page} ${page}/figure-scripts.js ${page_scripts}/charts.js
    DEPENDS ${page}/vega.min.js ${page_scripts}/bundle ${page_scripts}/charts.js ${page_scripts}/report.js VERBATIM)
  configure_file(page/page_files.S.in ${page}/page_files.S @ONLY)
  set_source_files_properties(${page}/page_files.S PROPERTIES OBJECT_DEPENDS
    "${page}/report-scripts.js;${page}/figure-scripts.js;${page}/licences.txt;${page_scripts}/report.css;${page_scripts}/chart-theme.json;${page_scripts}/figure.js")
  add_library(stoverturn_page page/page_files.cpp ${page}/page_files.S)
endif()
target_include_directories(stoverturn_page PUBLIC ${PROJECT_SOURCE_DIR})
target_compile_features(stoverturn_page PRIVATE cxx_std_20)

# SPDX-License-Identifier: MIT
# Modules, their layers and their outside libraries come from one table, libplanner/layers.csv.
# tests/structure/check_layers.py holds the real #include lines against the same table.

set(TUBEWRIGHT_LAYER_TABLE ${CMAKE_CURRENT_LIST_DIR}/../layers.csv)
set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${TUBEWRIGHT_LAYER_TABLE})
file(STRINGS ${TUBEWRIGHT_LAYER_TABLE} tubewright_rows)
list(POP_FRONT tubewright_rows)
set(TUBEWRIGHT_MODULES "")
foreach(row IN LISTS tubewright_rows)
  if(row MATCHES "^([0-9]+),([a-z]+),([a-z0-9 ]*),(.*)$")
    set(module ${CMAKE_MATCH_2})
    set(TUBEWRIGHT_LAYER_${module} ${CMAKE_MATCH_1})
    string(REPLACE " " ";" TUBEWRIGHT_LIBRARIES_${module} "${CMAKE_MATCH_3}")
    list(APPEND TUBEWRIGHT_MODULES ${module})
  else()
    message(FATAL_ERROR "layers.csv: cannot read the row '${row}'")
  endif()
endforeach()

# The names of the table to CMake targets.
set(tubewright_library_fmt fmt::fmt)
set(tubewright_library_klu KLU::KLU)
set(tubewright_library_eigen tubewright_eigen)
set(tubewright_library_boost Boost::headers)
set(tubewright_library_pugixml pugixml::pugixml)
set(tubewright_library_json nlohmann_json::nlohmann_json)
set(tubewright_library_cli11 CLI11::CLI11)
set(tubewright_library_sqlite SQLite::SQLite3)

# tubewright_lower(OUT MODULE): the modules on lower layers than MODULE, which it may include.
function(tubewright_lower out module)
  set(found "")
  foreach(other IN LISTS TUBEWRIGHT_MODULES)
    if(TUBEWRIGHT_LAYER_${other} LESS TUBEWRIGHT_LAYER_${module} AND TARGET tubewright_${other})
      list(APPEND found ${other})
    endif()
  endforeach()
  set(${out} "${found}" PARENT_SCOPE)
endfunction()

# tubewright_settings(TARGET MODULE): flags and outside libraries of the module.
function(tubewright_settings target module)
  target_compile_features(${target} PUBLIC cxx_std_20)
  target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wshadow -ffp-contract=off
    "-ffile-prefix-map=${PROJECT_SOURCE_DIR}=.")
  if(TUBEWRIGHT_WARNINGS_AS_ERRORS)
    target_compile_options(${target} PRIVATE -Werror)
    if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
      # g++ 12 sees overlaps and unset members in std::string concatenation that are not there (GCC bugs 105651, 105562).
      target_compile_options(${target} PRIVATE -Wno-error=restrict -Wno-error=maybe-uninitialized)
      if(TUBEWRIGHT_QUICK_BUILD)  # and behind precompiled headers lengths that no string has
        target_compile_options(${target} PRIVATE -Wno-error=stringop-overflow -Wno-error=stringop-overread
          -Wno-error=array-bounds)
      endif()
    endif()
  endif()
  foreach(library IN LISTS TUBEWRIGHT_LIBRARIES_${module})
    target_link_libraries(${target} PRIVATE ${tubewright_library_${library}})
  endforeach()
endfunction()

# tubewright_module(MODULE sources...): one object library.
function(tubewright_module module)
  if(NOT module IN_LIST TUBEWRIGHT_MODULES)
    message(FATAL_ERROR "${module} does not stand in layers.csv")
  endif()
  add_library(tubewright_${module} OBJECT ${ARGN})
  tubewright_settings(tubewright_${module} ${module})
  target_include_directories(tubewright_${module} PUBLIC ${PROJECT_SOURCE_DIR}/libplanner
    ${PROJECT_SOURCE_DIR}/libplanner/include)
  set_target_properties(tubewright_${module} PROPERTIES POSITION_INDEPENDENT_CODE ON
    CXX_VISIBILITY_PRESET hidden VISIBILITY_INLINES_HIDDEN ON)
  target_compile_definitions(tubewright_${module} PRIVATE TUBEWRIGHT_BUILDING)
endfunction()

# tubewright_quicken(): what makes a build short, for the modules between terms and cli. Little optimising where little is
# computed; the headers that most files read are read once for each way of optimising.
function(tubewright_quicken)
  set(headers <algorithm> <array> <charconv> <cmath> <functional> <limits> <map> <memory> <optional> <set> <span> <string>
    <string_view> <tuple> <utility> <vector>)
  list(REMOVE_ITEM TUBEWRIGHT_MODULES terms cli)
  foreach(module IN LISTS TUBEWRIGHT_MODULES)
    set(target tubewright_${module})
    set(reader tubes) # it has no library whose definitions would be asked of the others
    if(module MATCHES "^(catalogue|policy|ageing|rules|audit|choice|order|plan|report)$")
      target_compile_options(${target} PRIVATE -O1)
      set(reader catalogue)
    endif()
    if("json" IN_LIST TUBEWRIGHT_LIBRARIES_${module})
      target_precompile_headers(${target} PRIVATE ${headers} <fmt/core.h> <nlohmann/json.hpp>)
    elseif(module STREQUAL reader)
      target_precompile_headers(${target} PRIVATE ${headers})
    else()
      target_precompile_headers(${target} REUSE_FROM tubewright_${reader})
    endif()
  endforeach()
endfunction()

# tubewright_link_modules(TARGET MODULE): the objects of MODULE and of all below it, with their libraries.
function(tubewright_link_modules target module)
  tubewright_lower(below ${module})
  if(TARGET tubewright_${module} AND NOT module STREQUAL cli)
    list(APPEND below ${module})
  endif()
  foreach(other IN LISTS below)
    target_link_libraries(${target} PRIVATE tubewright_${other})
    foreach(library IN LISTS TUBEWRIGHT_LIBRARIES_${other})
      target_link_libraries(${target} PRIVATE ${tubewright_library_${library}})
    endforeach()
  endforeach()
endfunction()

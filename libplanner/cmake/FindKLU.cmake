# SPDX-License-Identifier: MIT
# KLU of SuiteSparse (LGPL-2.1+, linked dynamically). Debian ships neither a CMake package nor a .pc file.
find_path(KLU_INCLUDE_DIR klu.h PATH_SUFFIXES suitesparse)
find_library(KLU_LIBRARY NAMES libklu.so klu)
include(FindPackageHandleStandardArgs)
find_package_handle_standard_args(KLU REQUIRED_VARS KLU_LIBRARY KLU_INCLUDE_DIR)
if(KLU_FOUND AND NOT TARGET KLU::KLU)
  add_library(KLU::KLU UNKNOWN IMPORTED)
  set_target_properties(KLU::KLU PROPERTIES IMPORTED_LOCATION ${KLU_LIBRARY}
    INTERFACE_INCLUDE_DIRECTORIES ${KLU_INCLUDE_DIR}
    INTERFACE_SYSTEM_INCLUDE_DIRECTORIES ${KLU_INCLUDE_DIR})
endif()

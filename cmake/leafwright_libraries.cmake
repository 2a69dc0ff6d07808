# The libraries that Leafwright is built with, all by their Debian names (scripts/packages.txt).
# Those of the core are headers only (src/base/format_library.cpp compiles fmt's), and none shows in an installed header but tl-expected.
#
# A cross build sets LEAFWRIGHT_HEADERS to a folder that holds nothing but these libraries' headers:
# the system's own include folder would bring the host's C library with it.

set(LEAFWRIGHT_HEADERS "" CACHE PATH "Folder of header-only libraries, for cross builds only")

add_library(leafwright_libraries INTERFACE)

set(hints)
if(LEAFWRIGHT_HEADERS)
  set(hints NO_DEFAULT_PATH NO_CMAKE_FIND_ROOT_PATH PATHS ${LEAFWRIGHT_HEADERS})
  target_include_directories(leafwright_libraries SYSTEM INTERFACE ${LEAFWRIGHT_HEADERS})
endif()

function(leafwright_need_header variable header package)
  find_path(${variable} ${header} ${ARGN})
  mark_as_advanced(${variable})
  if(NOT ${variable})
    message(FATAL_ERROR "Leafwright needs <${header}>: install Debian's ${package} "
                        "(./check.sh and ./demo.sh do it by themselves)")
  endif()
endfunction()

leafwright_need_header(LEAFWRIGHT_EXPECTED_DIR tl/expected.hpp libexpected-dev ${hints})
leafwright_need_header(LEAFWRIGHT_FMT_DIR fmt/format.h libfmt-dev ${hints})
leafwright_need_header(LEAFWRIGHT_FAST_FLOAT_DIR fast_float/fast_float.h libfast-float-dev ${hints})
leafwright_need_header(LEAFWRIGHT_BOOST_DIR boost/math/distributions/fisher_f.hpp
                       libboost-math-dev ${hints})
leafwright_need_header(LEAFWRIGHT_TOML_DIR toml++/toml.h libtomlplusplus-dev ${hints})
leafwright_need_header(LEAFWRIGHT_EIGEN_DIR Eigen/Core libeigen3-dev
                       ${hints} PATH_SUFFIXES eigen3)
target_include_directories(leafwright_libraries SYSTEM INTERFACE ${LEAFWRIGHT_EIGEN_DIR})

# What only the edge links: .xlsx is a zip archive of XML; time zones come from the system's tzdata.
if(LEAFWRIGHT_EDGE)
  leafwright_need_header(LEAFWRIGHT_MINIZIP_DIR minizip/unzip.h libminizip-dev)
  find_library(LEAFWRIGHT_MINIZIP minizip REQUIRED)
  mark_as_advanced(LEAFWRIGHT_MINIZIP)
  add_library(leafwright_zip INTERFACE)
  target_include_directories(leafwright_zip SYSTEM INTERFACE ${LEAFWRIGHT_MINIZIP_DIR})
  target_link_libraries(leafwright_zip INTERFACE ${LEAFWRIGHT_MINIZIP})
  find_package(EXPAT REQUIRED)
  find_package(date REQUIRED)
endif()

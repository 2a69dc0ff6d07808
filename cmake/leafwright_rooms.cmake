# One room of src/ is one object library; the core rooms together are the installed library.
# Every *.cpp of a room's folder belongs to it: adding a file needs no edit here.

find_package(fmt REQUIRED)
find_package(tl-expected QUIET)

add_library(leafwright_options INTERFACE)
target_compile_features(leafwright_options INTERFACE cxx_std_20)
target_include_directories(leafwright_options INTERFACE ${PROJECT_SOURCE_DIR}/src)
target_compile_options(leafwright_options INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wold-style-cast -Werror
  # The same numbers on every machine: no fused multiply-add unless a function asks for it.
  -ffp-contract=off)
target_compile_definitions(leafwright_options INTERFACE LEAFWRIGHT_VERSION="${PROJECT_VERSION}")

set(LEAFWRIGHT_CORE_ROOMS "" CACHE INTERNAL "")

function(leafwright_room name)
  cmake_parse_arguments(ROOM "EDGE" "" "DEPS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/src/${name}/*.cpp)
  if(NOT sources)
    add_library(leafwright_${name} INTERFACE)
  else()
    add_library(leafwright_${name} STATIC ${sources})
    set_target_properties(leafwright_${name} PROPERTIES POSITION_INDEPENDENT_CODE ON)
    target_link_libraries(leafwright_${name} PRIVATE $<BUILD_INTERFACE:leafwright_options>)
  endif()
  foreach(dep ${ROOM_DEPS})
    if(NOT sources)
      target_link_libraries(leafwright_${name} INTERFACE leafwright_${dep})
    else()
      target_link_libraries(leafwright_${name} PUBLIC leafwright_${dep})
    endif()
  endforeach()
  if(sources)
    target_link_libraries(leafwright_${name} PUBLIC fmt::fmt-header-only)
  endif()
  if(NOT ROOM_EDGE)
    set(LEAFWRIGHT_CORE_ROOMS "${LEAFWRIGHT_CORE_ROOMS};${name}" CACHE INTERNAL "")
  endif()
endfunction()

# leafwright_core: an umbrella over the core rooms for use inside the tree.
function(leafwright_core_library)
  add_library(leafwright_core INTERFACE)
  foreach(room ${LEAFWRIGHT_CORE_ROOMS})
    target_link_libraries(leafwright_core INTERFACE leafwright_${room})
  endforeach()
endfunction()

function(leafwright_program name folder)
  cmake_parse_arguments(PROG "" "" "DEPS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/${folder}/*.cpp)
  if(NOT sources)
    return()
  endif()
  add_executable(${name} ${sources})
  target_link_libraries(${name} PRIVATE leafwright_options)
  foreach(dep ${PROG_DEPS})
    target_link_libraries(${name} PRIVATE leafwright_${dep})
  endforeach()
endfunction()

function(leafwright_install)
endfunction()

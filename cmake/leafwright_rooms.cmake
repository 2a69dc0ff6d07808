# One room of src/ is one static library; the core rooms together are the installed library.
# Every *.cpp of a room's folder belongs to it: adding a file needs no edit here.

add_library(leafwright_options INTERFACE)
target_compile_features(leafwright_options INTERFACE cxx_std_20)
target_include_directories(leafwright_options INTERFACE ${PROJECT_SOURCE_DIR}/src)
target_compile_options(leafwright_options INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wold-style-cast
  # The same numbers on every machine: no fused multiply-add unless a function asks for it.
  -ffp-contract=off)
target_compile_definitions(leafwright_options INTERFACE LEAFWRIGHT_VERSION="${PROJECT_VERSION}")
target_link_libraries(leafwright_options INTERFACE leafwright_libraries)

set(LEAFWRIGHT_CORE_ROOMS "" CACHE INTERNAL "")

# leafwright_room(NAME [EDGE] [DEPS ROOM...] [LIBS TARGET...])
# A room may include the headers of DEPS and of what they lean on. LIBS are libraries of its own.
function(leafwright_room name)
  cmake_parse_arguments(ROOM "EDGE" "" "DEPS;LIBS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/src/${name}/*.cpp)
  set(scope INTERFACE)  # a room of headers alone
  if(sources)
    set(scope PUBLIC)
    add_library(leafwright_${name} STATIC ${sources})
    set_target_properties(leafwright_${name} PROPERTIES POSITION_INDEPENDENT_CODE ON)
    target_link_libraries(leafwright_${name} PRIVATE leafwright_options ${ROOM_LIBS})
  else()
    add_library(leafwright_${name} INTERFACE)
  endif()
  foreach(dep ${ROOM_DEPS})
    target_link_libraries(leafwright_${name} ${scope} leafwright_${dep})
  endforeach()
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

# leafwright_program(NAME FOLDER DEPS ROOM... [LIBS TARGET...])
function(leafwright_program name folder)
  cmake_parse_arguments(PROG "" "" "DEPS;LIBS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/${folder}/*.cpp)
  if(NOT sources)
    return()
  endif()
  add_executable(${name} ${sources})
  target_link_libraries(${name} PRIVATE leafwright_options ${PROG_LIBS})
  foreach(dep ${PROG_DEPS})
    target_link_libraries(${name} PRIVATE leafwright_${dep})
  endforeach()
  install(TARGETS ${name} RUNTIME DESTINATION ${CMAKE_INSTALL_BINDIR})
endfunction()

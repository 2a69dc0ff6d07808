# Installs to a fresh prefix, builds examples/fit_csv against that and nothing else of the tree, and
# compares what it prints with what the installed program fits to the same curves.
cmake_minimum_required(VERSION 3.25)
set(work ${BUILD}/install_test)
file(REMOVE_RECURSE ${work})

function(run)
  execute_process(COMMAND ${ARGN} RESULT_VARIABLE result OUTPUT_VARIABLE out ERROR_VARIABLE err)
  if(NOT result EQUAL 0)
    list(JOIN ARGN " " command)
    message(FATAL_ERROR "${command}\nended with ${result}\n${out}\n${err}")
  endif()
  set(out "${out}" PARENT_SCOPE)
endfunction()

run(${CMAKE_COMMAND} --install ${BUILD} --prefix ${work}/prefix)
# The copy sees no other header of the tree.
file(COPY ${SOURCE}/examples/fit_csv DESTINATION ${work})
run(${CMAKE_COMMAND} -S ${work}/fit_csv -B ${work}/build -G ${GENERATOR}
    -D CMAKE_PREFIX_PATH=${work}/prefix -D CMAKE_CXX_COMPILER=${CXX}
    "-DCMAKE_CXX_FLAGS=${CXX_FLAGS} -Wall -Wextra -Werror")
run(${CMAKE_COMMAND} --build ${work}/build)
run(${work}/build/fit_csv ${SOURCE}/demo/points.csv)
set(example "${out}")

run(${work}/prefix/bin/leafwright fit ${SOURCE}/demo/points.csv --pathway c3 --json -)
string(JSON curves LENGTH "${out}" curves)
if(curves LESS 2)
  message(FATAL_ERROR "the program fitted ${curves} curves")
endif()
math(EXPR last "${curves} - 1")
foreach(i RANGE ${last})
  string(JSON id GET "${out}" curves ${i} curve_id)
  string(JSON Vcmax ERROR_VARIABLE none GET "${out}" curves ${i} estimates Vcmax value)
  string(REGEX MATCH "^[0-9]+" start "${Vcmax}")  # "" where Vcmax is not determined
  string(FIND "${example}" "${id}: Vcmax ${start}" found)
  if(found EQUAL -1)
    message(FATAL_ERROR "curve ${id}: the program has Vcmax ${Vcmax}, the example:\n${example}")
  endif()
endforeach()
message(STATUS "${curves} curves, the same in the example and in the program")

# What `cmake --install` lays down: the program, one archive of all core rooms, their headers, and a
# package that find_package(Leafwright) reads. docs/decisions/installed-library.md says why so.
include(CMakePackageConfigHelpers)

# Takes the files that hold `text` out of the list.
function(leafwright_drop_sources list text)
  set(kept)
  foreach(source ${${list}})
    file(STRINGS ${source} found REGEX "${text}" LIMIT_COUNT 1)
    if(NOT found)
      list(APPEND kept ${source})
    endif()
  endforeach()
  set(${list} ${kept} PARENT_SCOPE)
endfunction()

function(leafwright_install)
  set(objects)
  foreach(room ${LEAFWRIGHT_CORE_ROOMS})
    file(GLOB headers CONFIGURE_DEPENDS ${PROJECT_SOURCE_DIR}/src/${room}/*.hpp)
    leafwright_drop_sources(headers "#include <(Eigen|boost|nlohmann|toml)")  # private to the room
    install(FILES ${headers} DESTINATION ${CMAKE_INSTALL_INCLUDEDIR}/leafwright/${room})
    get_target_property(type leafwright_${room} TYPE)
    if(type STREQUAL "STATIC_LIBRARY")
      list(APPEND objects $<TARGET_OBJECTS:leafwright_${room}>)
    endif()
  endforeach()
  add_library(leafwright_archive STATIC ${objects})
  add_library(Leafwright::leafwright ALIAS leafwright_archive)
  set_target_properties(leafwright_archive PROPERTIES
    OUTPUT_NAME leafwright
    EXPORT_NAME leafwright
    LINKER_LANGUAGE CXX)
  target_compile_features(leafwright_archive PUBLIC cxx_std_20)

  # Headers say "base/error.hpp" among themselves, users <leafwright/base/error.hpp>: both resolve,
  # installed or as a subproject.
  file(MAKE_DIRECTORY ${PROJECT_BINARY_DIR}/include)
  file(CREATE_LINK ${PROJECT_SOURCE_DIR}/src ${PROJECT_BINARY_DIR}/include/leafwright
       SYMBOLIC COPY_ON_ERROR)
  target_include_directories(leafwright_archive INTERFACE
    $<BUILD_INTERFACE:${PROJECT_BINARY_DIR}/include>
    $<BUILD_INTERFACE:${PROJECT_SOURCE_DIR}/src>
    $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}>
    $<INSTALL_INTERFACE:${CMAKE_INSTALL_INCLUDEDIR}/leafwright>)

  set(package_dir ${CMAKE_INSTALL_LIBDIR}/cmake/Leafwright)
  install(TARGETS leafwright_archive EXPORT LeafwrightTargets
          ARCHIVE DESTINATION ${CMAKE_INSTALL_LIBDIR})
  install(EXPORT LeafwrightTargets NAMESPACE Leafwright:: DESTINATION ${package_dir})
  configure_package_config_file(${PROJECT_SOURCE_DIR}/cmake/LeafwrightConfig.cmake.in
    ${PROJECT_BINARY_DIR}/LeafwrightConfig.cmake INSTALL_DESTINATION ${package_dir})
  # Before 1.0 a minor version may change the interface.
  write_basic_package_version_file(${PROJECT_BINARY_DIR}/LeafwrightConfigVersion.cmake
    COMPATIBILITY SameMinorVersion)
  install(FILES ${PROJECT_BINARY_DIR}/LeafwrightConfig.cmake
                ${PROJECT_BINARY_DIR}/LeafwrightConfigVersion.cmake
          DESTINATION ${package_dir})
  install(FILES ${PROJECT_SOURCE_DIR}/LICENSE ${PROJECT_SOURCE_DIR}/CITATION.cff
          DESTINATION ${CMAKE_INSTALL_DOCDIR})
endfunction()

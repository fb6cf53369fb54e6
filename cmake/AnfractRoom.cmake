# anfract_room(NAME base
#     DEPENDS  every other room whose headers this one includes; scripts/check-tree compares
#     SOURCES  files under src/
#     LIBRARIES_PUBLIC, LIBRARIES_PRIVATE  imported targets of other projects
#     TESTS    files under test/; together they make the program test_NAME
#     TEST_LIBRARIES  targets only the tests need)
#
# Makes the library anfract_NAME with the alias anfract::NAME. Its only include root is this room's own
# include/ folder, so a header of a room that DEPENDS does not lead to is not found. Public headers form a header set, so that the `dev` preset compiles each
# of them alone.
function(anfract_room)
    cmake_parse_arguments(ARG "" "NAME"
        "DEPENDS;SOURCES;LIBRARIES_PUBLIC;LIBRARIES_PRIVATE;TESTS;TEST_LIBRARIES" ${ARGN})
    set(target anfract_${ARG_NAME})
    file(GLOB headers CONFIGURE_DEPENDS include/anfract/${ARG_NAME}/*.h)
    list(TRANSFORM ARG_SOURCES PREPEND src/)
    list(TRANSFORM ARG_DEPENDS PREPEND anfract:: OUTPUT_VARIABLE rooms)

    add_library(${target} STATIC ${ARG_SOURCES})
    add_library(anfract::${ARG_NAME} ALIAS ${target})
    target_sources(${target} PUBLIC FILE_SET HEADERS BASE_DIRS include FILES ${headers})
    target_include_directories(${target} PRIVATE src)
    target_link_libraries(${target} PUBLIC ${rooms} ${ARG_LIBRARIES_PUBLIC}
                                    PRIVATE ${ARG_LIBRARIES_PRIVATE})
    anfract_compile_options(${target})

    if(ANFRACT_TESTS AND ARG_TESTS)
        list(TRANSFORM ARG_TESTS PREPEND test/)
        anfract_test(NAME test_${ARG_NAME} SOURCES ${ARG_TESTS}
            LIBRARIES ${target} ${ARG_TEST_LIBRARIES})
        target_include_directories(test_${ARG_NAME} PRIVATE src test)
    endif()
endfunction()

# anfract_test(NAME test_x SOURCES ... LIBRARIES ...): a GoogleTest program. CTest runs it whole, so that what a
# suite sets up at some cost is set up once; GTEST_OUTPUT gives the single results.
function(anfract_test)
    cmake_parse_arguments(ARG "" "NAME" "SOURCES;LIBRARIES" ${ARGN})
    add_executable(${ARG_NAME} ${ARG_SOURCES})
    target_link_libraries(${ARG_NAME} PRIVATE ${ARG_LIBRARIES} GTest::gtest GTest::gmock GTest::gtest_main)
    anfract_compile_options(${ARG_NAME})
    # Tests are a third of the time of a build, and the least of it is their own running.
    target_compile_options(${ARG_NAME} PRIVATE $<$<CONFIG:Release>:-O1>)
    target_compile_definitions(${ARG_NAME} PRIVATE
        ANFRACT_SOURCE_DIR="${CMAKE_SOURCE_DIR}" ANFRACT_BINARY_DIR="${CMAKE_BINARY_DIR}")
    add_test(NAME ${ARG_NAME} COMMAND ${ARG_NAME})
    set_tests_properties(${ARG_NAME} PROPERTIES TIMEOUT 1200)
endfunction()

# anfract_embed_files(TARGET target HEADER h FUNCTION anfract::f ROOT folder FILES ...): FUNCTION, declared in HEADER, gives
# the bytes of FILES by their path below ROOT, as they were at the last build.
function(anfract_embed_files)
    cmake_parse_arguments(ARG "" "TARGET;HEADER;FUNCTION;ROOT" "FILES" ${ARGN})
    string(REPLACE ";" "|" files "${ARG_FILES}")
    set(source ${CMAKE_CURRENT_BINARY_DIR}/files_of_${ARG_TARGET}.cpp)
    set(script ${CMAKE_SOURCE_DIR}/cmake/EmbedFiles.cmake)
    add_custom_command(OUTPUT ${source}
        COMMAND ${CMAKE_COMMAND} -DOUT=${source} -DHEADER=${ARG_HEADER} -DFUNCTION=${ARG_FUNCTION}
                -DROOT=${ARG_ROOT} "-DIN=${files}" -P ${script}
        DEPENDS ${ARG_FILES} ${script} VERBATIM)
    target_sources(${ARG_TARGET} PRIVATE ${source})
endfunction()

function(anfract_compile_options target)
    target_compile_options(${target} PRIVATE -Wall -Wextra -Wpedantic -Wshadow -Wnon-virtual-dtor
        -Woverloaded-virtual -Wconversion -Wno-sign-conversion
        -Wno-restrict  # false alarms of g++ 12 on std::string (GCC bug 105651)
    )
    if(ANFRACT_WERROR)
        target_compile_options(${target} PRIVATE -Werror)
    endif()
    if(ANFRACT_SANITIZE)
        target_compile_options(${target} PRIVATE -fsanitize=${ANFRACT_SANITIZE} -fno-omit-frame-pointer)
        target_link_options(${target} PRIVATE -fsanitize=${ANFRACT_SANITIZE})
    endif()
endfunction()

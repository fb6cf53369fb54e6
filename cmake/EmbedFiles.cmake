# Run with -P: writes OUT, a C++ source that defines FUNCTION, declared in HEADER, to give the files IN (separated by "|") by
# their path below ROOT. The assembler reads the bytes (.incbin), so their size costs the compiler nothing.
string(REPLACE "|" ";" IN "${IN}")
string(REPLACE "::" "_" prefix ${FUNCTION})
set(declarations "")
set(entries "")
set(number 0)
foreach(file IN LISTS IN)
    file(RELATIVE_PATH name ${ROOT} ${file})
    set(symbol ${prefix}_${number})
    string(APPEND declarations
        "asm(\".section .rodata\\n${symbol}:\\n.incbin \\\"${file}\\\"\\n${symbol}_end:\\n.byte 0\\n\"\n"
        "    \".globl ${symbol}\\n.globl ${symbol}_end\\n.previous\\n\");\n"
        "extern \"C\" const char ${symbol}[];\nextern \"C\" const char ${symbol}_end[];\n")
    string(APPEND entries
        "        {\"${name}\", {${symbol}, static_cast<std::size_t>(${symbol}_end - ${symbol})}},\n")
    math(EXPR number "${number} + 1")
endforeach()
file(WRITE ${OUT}.new "#include \"${HEADER}\"\n\n${declarations}\n"
    "std::vector<std::pair<std::string_view, std::string_view>> ${FUNCTION}() {\n    return {\n${entries}    };\n}\n")
file(RENAME ${OUT}.new ${OUT})

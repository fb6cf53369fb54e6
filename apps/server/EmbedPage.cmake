# Writes OUT, a C++ source that holds the files IN (separated by "|"), named by their path below ROOT. The assembler
# reads the bytes (.incbin), so the size of the page costs the compiler nothing.
string(REPLACE "|" ";" IN "${IN}")
set(declarations "")
set(entries "")
set(number 0)
foreach(file IN LISTS IN)
    file(RELATIVE_PATH name ${ROOT} ${file})
    set(symbol anfract_page_${number})
    string(APPEND declarations
        "asm(\".section .rodata\\n${symbol}:\\n.incbin \\\"${file}\\\"\\n${symbol}_end:\\n.byte 0\\n\"\n"
        "    \".globl ${symbol}\\n.globl ${symbol}_end\\n.previous\\n\");\n"
        "extern \"C\" const char ${symbol}[];\nextern \"C\" const char ${symbol}_end[];\n")
    string(APPEND entries
        "        {\"${name}\", {${symbol}, static_cast<std::size_t>(${symbol}_end - ${symbol})}},\n")
    math(EXPR number "${number} + 1")
endforeach()
file(WRITE ${OUT}.new "#include \"embedded_page.h\"\n\n${declarations}\n"
    "namespace anfract::server {\n\n"
    "std::vector<std::pair<std::string_view, std::string_view>> embedded_page() {\n    return {\n${entries}    };\n}\n\n"
    "}  // namespace anfract::server\n")
file(RENAME ${OUT}.new ${OUT})

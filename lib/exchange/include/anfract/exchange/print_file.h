#pragma once

#include <filesystem>
#include <string>

#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

enum class PrintFormat { Stl, ThreeMf };

/// The format a file's name asks for: .stl or .3mf. Errors: BadInput for any other.
Result<PrintFormat> print_format_of(const std::filesystem::path& path);

/// A closed surface in millimetres as the bytes of a file for printing: binary STL, or 3MF (3D
/// Manufacturing Format, core specification 1.x), which carries the unit, the title and the note.
/// Errors: Io when the library refuses.
Result<std::string> print_file(const Surface& surface, PrintFormat format, const std::string& title,
                               const std::string& note);

}  // namespace anfract

#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace anfract {

/// Decodes one JPEG 2000 code stream (bare or in a JP2 box) of one component into 16-bit words.
///
/// @param stream  the code stream
/// @param columns,rows  the size it must have, checked before memory is taken for pixels
/// @param to      columns * rows words, receives the samples modulo 2^16
/// @return empty, or what is wrong
std::string decode_jpeg2000(std::string_view stream, int columns, int rows, std::int16_t* to);

}  // namespace anfract

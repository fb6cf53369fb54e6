#pragma once

#include <string_view>

namespace anfract {

/// True when DICOM items in `bytes` seem to be nested deeper than any real object nests them.
///
/// DCMTK parses sequences by recursion, so a hostile file of nothing but nested items would exhaust
/// the stack. This looks for item tags in the bytes without parsing; chance hits in pixel data are
/// far too rare to reach the limit.
bool nested_too_deeply(std::string_view bytes);

}  // namespace anfract

#pragma once

#include "colour.h"

namespace anfract {

/// Colour of a file's size [ISO3630-1, from memory]: pink, grey, purple for 006, 008, 010, then
/// white, yellow, red, blue, green, black over and over from 015. Sizes between take the next
/// smaller one's.
Colour size_colour(double tip_mm);

}  // namespace anfract

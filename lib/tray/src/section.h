#pragma once

#include <cmath>
#include <numbers>
#include <string>

#include "anfract/tray/device.h"

namespace anfract {

/// A section by its name; those inscribed in a circle have this much of its second moment (plain
/// geometry).
inline Section section_named(const std::string& name) {
    if (name == "square") return {name, 4 / (3 * std::numbers::pi)};
    if (name == "triangle") return {name, 3 * std::sqrt(3.0) / (8 * std::numbers::pi)};
    return {name, 1.0};
}

}  // namespace anfract

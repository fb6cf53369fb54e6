#pragma once

#include <string>

#include "anfract/tray/device.h"

namespace anfract {

/// "0.25 mm" with `decimals` digits.
std::string mm(double value, int decimals);

/// "2.4 %" with `decimals` digits.
std::string percent(double share, int decimals = 1);

/// The device's name, or its id when it has none.
std::string name_for_people(const Device& device);

}  // namespace anfract

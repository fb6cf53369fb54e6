#include "words.h"

#include <cstdio>

namespace anfract {

std::string mm(double value, int decimals) {
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%.*f mm", decimals, value);
    return buffer;
}

std::string percent(double share, int decimals) {
    char buffer[32];
    std::snprintf(buffer, sizeof buffer, "%.*f %%", decimals, share * 100);
    return buffer;
}

std::string name_for_people(const Device& device) {
    return device.name.empty() ? device.id : device.name;
}

}  // namespace anfract

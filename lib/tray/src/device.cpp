#include "anfract/tray/device.h"

#include <algorithm>

namespace anfract {
namespace {

double interpolated(const std::vector<std::pair<double, double>>& table, double x) {
    if (x <= table.front().first) return table.front().second;
    if (x >= table.back().first) return table.back().second;
    const auto above =
        std::upper_bound(table.begin(), table.end(), x,
                         [](double value, const auto& row) { return value < row.first; });
    const auto& [x1, d1] = *above;
    const auto& [x0, d0] = *(above - 1);
    return d0 + (d1 - d0) * (x - x0) / (x1 - x0);
}

}  // namespace

double Device::diameter_mm_at(double x_mm) const {
    if (!diameters_mm.empty()) {
        if (shaft_mm && x_mm > diameters_mm.back().first) return *shaft_mm;
        return interpolated(diameters_mm, x_mm);
    }
    if (x_mm > working_part_mm && shaft_mm) return *shaft_mm;
    return tip_mm + taper * std::clamp(x_mm, 0.0, working_part_mm);
}

bool Device::cuts() const {
    return kind == DeviceKind::HandFile || kind == DeviceKind::RotaryFile ||
           kind == DeviceKind::ReciprocatingFile;
}

bool is_made_of(const Device& device, NamedMaterial material) {
    const auto* named = std::get_if<NamedMaterial>(&device.material);
    return named && *named == material;
}

std::string to_string(DeviceKind kind) {
    switch (kind) {
        case DeviceKind::HandFile:
            return "hand-file";
        case DeviceKind::RotaryFile:
            return "rotary-file";
        case DeviceKind::ReciprocatingFile:
            return "reciprocating-file";
        case DeviceKind::IrrigationCannula:
            return "irrigation-cannula";
        case DeviceKind::AgitationTip:
            return "agitation-tip";
        case DeviceKind::PaperPoint:
            return "paper-point";
        case DeviceKind::Cone:
            return "cone";
        case DeviceKind::Plugger:
            return "plugger";
        case DeviceKind::HeatTip:
            return "heat-tip";
        case DeviceKind::InjectionCannula:
            return "injection-cannula";
        case DeviceKind::CoronalCompactor:
            return "coronal-compactor";
    }
    return "";
}

}  // namespace anfract

#include "candidates.h"

#include <algorithm>
#include <tuple>

namespace anfract {
namespace {

auto shape_of(const Device& device) {
    return std::tuple(device.tip_mm, device.taper, int(device.kind), device.material.index());
}

bool same_instrument(const Device& a, const Device& b) {
    const auto* const named_a = std::get_if<NamedMaterial>(&a.material);
    const auto* const named_b = std::get_if<NamedMaterial>(&b.material);
    const bool same_material = named_a && named_b ? *named_a == *named_b : !named_a && !named_b;
    return shape_of(a) == shape_of(b) && same_material;
}

}  // namespace

std::vector<const Device*> cutting_candidates(const Tray& tray, double depth_mm,
                                              double stop_room_mm) {
    std::vector<const Device*> candidates;
    for (const Device& device : tray.devices) {
        if (!device.cuts() || device.stock < 1) continue;
        if (device.length_mm < depth_mm + stop_room_mm) continue;
        const auto same =
            std::find_if(candidates.begin(), candidates.end(),
                         [&](const Device* other) { return same_instrument(*other, device); });
        if (same == candidates.end()) {
            candidates.push_back(&device);
        } else if (device.length_mm < (*same)->length_mm) {
            *same = &device;
        }
    }
    std::sort(candidates.begin(), candidates.end(), [](const Device* a, const Device* b) {
        return std::tuple(shape_of(*a), a->id) < std::tuple(shape_of(*b), b->id);
    });
    return candidates;
}

}  // namespace anfract

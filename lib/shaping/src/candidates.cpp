#include "candidates.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "words.h"

namespace anfract {
namespace {

auto shape_of(const Device& device) {
    return std::tuple(device.tip_mm, device.taper, int(device.kind), device.material.index());
}

/// What two devices have in common when sizes are rounded to a grid; 0: not rounded.
using Likeness = std::tuple<double, double, int, std::size_t, int>;

Likeness likeness(const Device& device, double tip_grid_mm, double taper_grid) {
    const auto rounded = [](double value, double grid) {
        return grid > 0 ? std::round(value / grid) : value;
    };
    const auto* const named = std::get_if<NamedMaterial>(&device.material);
    return {rounded(device.tip_mm, tip_grid_mm), rounded(device.taper, taper_grid),
            int(device.kind), device.material.index(), named ? int(*named) : -1};
}

/// Keeps the shortest of those alike, the first in the tray where equal.
void keep_one_of_each(Shortlist& list, double tip_grid_mm, double taper_grid) {
    std::map<Likeness, const Device*> kept;
    for (const Device* device : list.devices) {
        const auto [place, added] =
            kept.emplace(likeness(*device, tip_grid_mm, taper_grid), device);
        if (!added && device->length_mm < place->second->length_mm) place->second = device;
    }
    std::vector<const Device*> devices;
    for (const Device* device : list.devices) {
        const Device* const stands_in = kept.at(likeness(*device, tip_grid_mm, taper_grid));
        if (stands_in == device) {
            devices.push_back(device);
            continue;
        }
        const bool same = shape_of(*stands_in) == shape_of(*device);
        list.unused.push_back(
            {device->id, name_for_people(*device) +
                             (same ? " has the shape of " : " is close to ") +
                             name_for_people(*stands_in) +
                             (same && device->length_mm > stands_in->length_mm
                                  ? ", which is long enough at " + mm(stands_in->length_mm, 0)
                                  : ", which stands for it at " + mm(stands_in->tip_mm, 2)) +
                             "."});
    }
    list.devices = std::move(devices);
}

}  // namespace

Shortlist cutting_candidates(const Tray& tray, double depth_mm, double stop_room_mm,
                             std::size_t most) {
    Shortlist list;
    for (const Device& device : tray.devices) {
        if (!device.cuts()) continue;
        if (device.stock < 1) {
            list.unused.push_back({device.id, name_for_people(device) + " has a stock of 0."});
        } else if (device.length_mm < depth_mm + stop_room_mm) {
            list.unused.push_back({device.id, name_for_people(device) + " is " +
                                                  mm(device.length_mm, 0) + " long; " +
                                                  mm(depth_mm + stop_room_mm, 1) +
                                                  " are needed with room for the stop."});
        } else {
            list.devices.push_back(&device);
        }
    }
    keep_one_of_each(list, 0, 0);
    // Steps of a hundredth are what hands tell apart; a huge tray is thinned from there on.
    double tip_grid = 0.01, taper_grid = 0.005;
    while (list.devices.size() > most && tip_grid < 1) {
        keep_one_of_each(list, tip_grid, taper_grid);
        tip_grid *= 2;
        taper_grid *= 1.5;
    }
    std::sort(list.devices.begin(), list.devices.end(), [](const Device* a, const Device* b) {
        return std::tuple(shape_of(*a), a->id) < std::tuple(shape_of(*b), b->id);
    });
    return list;
}

}  // namespace anfract

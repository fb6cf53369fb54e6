#include "candidates.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "words.h"

namespace anfract {
namespace {

auto order_of(const Device& device) {
    return std::tuple(device.tip_mm, device.taper, int(device.kind), device.material.index());
}

/// The figures of a material, by which two that are given by numbers are told apart.
std::vector<std::pair<double, double>> figures_of(const Material& material) {
    if (const auto* named = std::get_if<NamedMaterial>(&material)) return {{double(*named), 0}};
    if (const auto* linear = std::get_if<LinearMaterial>(&material))
        return {{linear->modulus_MPa, 0}};
    return std::get<TabulatedMaterial>(material).strain_stress_MPa;
}

/// What decides how a device goes down a canal, but for its length. With grids above 0 tip and
/// taper are rounded to them and finer differences do not count.
auto likeness(const Device& device, double tip_grid_mm, double taper_grid) {
    const auto rounded = [](double value, double grid) {
        return grid > 0 ? std::round(value / grid) : value;
    };
    const Device anything;
    const Device& fine = tip_grid_mm > 0 ? anything : device;
    return std::tuple(rounded(device.tip_mm, tip_grid_mm), rounded(device.taper, taper_grid),
                      int(device.kind), device.material.index(), figures_of(device.material),
                      fine.section.inertia_ratio, fine.working_part_mm, fine.shaft_mm, fine.bore_mm,
                      fine.diameters_mm, fine.bending_moment_45deg_mNm, fine.life_used);
}

/// Keeps the shortest of those alike, the first in the tray where equal.
void keep_one_of_each(Shortlist& list, double tip_grid_mm, double taper_grid) {
    std::map<decltype(likeness({}, 0, 0)), const Device*> kept;
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
        const bool same = likeness(*stands_in, 0, 0) == likeness(*device, 0, 0);
        list.unused.push_back({device->id, UnusedInstrument::Because::Twin,
                               name_for_people(*device) +
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
            list.unused.push_back({device.id, UnusedInstrument::Because::Stock,
                                   name_for_people(device) + " has a stock of 0."});
        } else if (device.length_mm < depth_mm + stop_room_mm) {
            list.unused.push_back({device.id, UnusedInstrument::Because::Length,
                                   name_for_people(device) + " is " + mm(device.length_mm, 0) +
                                       " long; " + mm(depth_mm + stop_room_mm, 1) +
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
        return std::tuple(order_of(*a), a->id) < std::tuple(order_of(*b), b->id);
    });
    return list;
}

}  // namespace anfract

#include "anfract/exchange/pseudonymous_plan.h"

#include <regex>

#include "anfract/plan/make_plan.h"
#include "anfract/tray/tray_file.h"

namespace anfract {
namespace {

/// "MB2", "DL": of the letters for the sides of a tooth.
bool names_sides(const std::string& text) {
    static const std::regex by_sides("[MDBPL]{1,3}[1-9]?");
    return std::regex_match(text, by_sides);
}

std::map<std::string, std::string> canal_names(const Tooth& tooth) {
    std::map<std::string, std::string> names;
    for (std::size_t i = 0; i < tooth.canals.size(); ++i) {
        const std::string& name = tooth.canals[i].name;
        names[name] = names_sides(name) ? name : "C" + std::to_string(i + 1);
    }
    return names;
}

}  // namespace

Tooth pseudonymous_tooth(Tooth tooth, const std::string& series_uid) {
    const auto names = canal_names(tooth);
    const auto named = [&](const std::string& name) {
        const auto found = names.find(name);
        return found == names.end() ? std::string() : found->second;
    };
    tooth.findings.clear();
    if (tooth.scan) tooth.scan->series_uid = series_uid;
    for (Canal& canal : tooth.canals) {
        canal.name = named(canal.name);
        if (canal.joins) canal.joins->canal = named(canal.joins->canal);
        if (canal.leaves) canal.leaves->canal = named(canal.leaves->canal);
    }
    for (PossibleCanal& possible : tooth.possible) {
        possible.nearest_canal = named(possible.nearest_canal);
        if (!names_sides(possible.direction)) possible.direction.clear();
    }
    return tooth;
}

std::map<std::string, std::string> pseudonymous_devices(const Tray& tray) {
    std::map<std::string, std::string> names;
    for (const Device& device : generic_tray().devices) names[device.id] = device.id;
    int count = 0;
    for (const Device& device : tray.devices) {
        if (!names.contains(device.id)) names[device.id] = "device-" + std::to_string(++count);
    }
    return names;
}

Result<Plan> pseudonymous_plan(const Plan& plan, const std::string& series_uid,
                               const Progress& progress) {
    const Tooth tooth = pseudonymous_tooth(plan.tooth, series_uid);
    const auto names = pseudonymous_devices(plan.tray);
    const Tray generic = generic_tray();
    Tray tray = plan.tray;
    tray.sources.clear();
    for (Device& device : tray.devices) {
        device.id = names.at(device.id);
        const Device* const known = generic.find(device.id);
        device.name = known ? known->name : "";
    }
    PlanOptions options;
    options.access = plan.access;
    const auto canals = canal_names(plan.tooth);
    for (const CanalPlan& canal : plan.canals) {
        if (canal.measured) {
            options.measured_depths_mm[canals.at(canal.canal)] =
                canal.measured->from_scan_mm + canal.measured->difference_mm;
        }
    }
    return make_plan(tooth, tray, options, progress);
}

}  // namespace anfract

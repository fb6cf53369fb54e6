#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "series.h"

namespace anfract::series {
namespace {

/// Classes of [Estrela2008], from memory: severe up to a radius of 4 mm, moderate to 8 mm.
const char* bend_class(double radius_mm) {
    if (radius_mm <= 4) return "severe";
    return radius_mm <= 8 ? "moderate" : "mild";
}

const char* end_of(const PlannedCanal& canal) {
    if (!canal.final_size.empty()) return "to its depth";
    return canal.plan.order.empty() ? "no order" : "ends short";
}

std::string why_short(const PlannedCanal& canal) {
    if (!canal.final_size.empty()) return "";
    return canal.plan.smallest.sentence;
}

std::string canal_table(const std::vector<PlannedTooth>& teeth) {
    std::string out =
        "| tooth | seed | canal | radius, mm | depth, mm | steps | final size | any risk | "
        "seconds of the tooth | |\n|---|---|---|---|---|---|---|---|---|---|\n";
    for (const PlannedTooth& tooth : teeth) {
        if (!tooth.failure.empty())
            out += fmt::format("| {} | {} | | | | | | | | {} |\n", tooth.fdi, tooth.seed,
                               tooth.failure);
        for (const PlannedCanal& canal : tooth.canals) {
            out += fmt::format(
                "| {} | {} | {} | {:.1f} | {:.1f} | {} | {} | {} | {:.1f} | {} |\n", tooth.fdi,
                tooth.seed, canal.plan.canal, canal.least_radius_mm, canal.plan.working_depth_mm,
                canal.plan.order.size(), canal.final_size,
                canal.plan.risks ? fmt::format("{:.0f} %", 100 * canal.plan.risks->any) : "",
                tooth.seconds, why_short(canal));
        }
    }
    return out;
}

/// Rows "what: count" by class of bend.
std::string counts_by_class(const std::vector<PlannedTooth>& teeth, const std::string& what,
                            const std::function<std::string(const PlannedCanal&)>& key) {
    std::map<std::string, std::map<std::string, int>> counts;
    for (const PlannedTooth& tooth : teeth) {
        for (const PlannedCanal& canal : tooth.canals)
            ++counts[key(canal)][bend_class(canal.least_radius_mm)];
    }
    std::string out = "| " + what + " | mild | moderate | severe |\n|---|---|---|---|\n";
    for (auto& [name, row] : counts)
        out += fmt::format("| {} | {} | {} | {} |\n", name, row["mild"], row["moderate"],
                           row["severe"]);
    return out;
}

}  // namespace

std::string markdown_of(const std::vector<PlannedTooth>& teeth) {
    const auto failed = std::count_if(teeth.begin(), teeth.end(), [](const PlannedTooth& tooth) {
        return !tooth.failure.empty();
    });
    std::size_t canals = 0;
    double seconds = 0, cpu = 0, worst = 0;
    for (const PlannedTooth& tooth : teeth) {
        canals += tooth.canals.size();
        seconds += tooth.seconds;
        cpu += tooth.cpu_seconds;
        worst = std::max(worst, tooth.seconds);
    }
    const double count = double(std::max<std::size_t>(1, teeth.size()));
    return fmt::format(
               "{} teeth, {} without a plan; {} canals. Planning took {:.1f} s a tooth ({:.1f} s "
               "of "
               "processor time), at most {:.1f} s.\n\n",
               teeth.size(), failed, canals, seconds / count, cpu / count, worst) +
           counts_by_class(teeth, "order", end_of) + "\n" +
           counts_by_class(
               teeth, "final size",
               [](const PlannedCanal& c) { return c.final_size.empty() ? "none" : c.final_size; }) +
           "\n" +
           counts_by_class(
               teeth, "steps",
               [](const PlannedCanal& c) { return fmt::format("{}", c.plan.order.size()); }) +
           "\n" + canal_table(teeth);
}

}  // namespace anfract::series

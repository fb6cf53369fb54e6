#include "canal_case.h"

namespace anfract {

std::vector<PlanBasis> basis_of(const Tooth& tooth, const Tray& tray, const PlanOptions& options) {
    const OrderOptions order;
    const std::string habit = "common practice, no source";
    std::vector<PlanBasis> basis{
        {"Working depth", "foramen minus " + mm_text(options.short_of_foramen_mm), habit},
        {"Handle end of instruments",
         options.access == Access::Axial ? "in line with the coronal canal"
                                         : "free to lean as the canal wants",
         "model"},
        {"Friction on wet dentine", std::to_string(options.friction).substr(0, 4), "assumed"},
        {"Wall to be left",
         "at least " + mm_text(options.wall_least_mm) + " and " + mm_text(wall_error_mm(tooth), 2) +
             " for the measurement; warned of below " + mm_text(options.wall_flag_mm) + " and that",
         "Lim and Stock 1987, from memory; the rest ours; without the last 2 mm"},
        {"Shift of the canal near its end", "at most " + mm_text(order.transport_most_mm),
         "Wu, Fan and Wesselink 2000, from memory"},
        {"Turns a rotating file makes in a canal",
         std::to_string(int(order.turns)) + ", at most " + percent_text(order.life_used_most, 0) +
             " of its life at the low estimate",
         "20 s at 300 a minute, " + habit +
             "; strain-life law of passage.md, tied to one test from memory"},
        {"Torque of a rotating file",
         "at most " + percent_text(order.torque_share_most, 0) +
             " of what breaks it, by the middle of its range",
         "ours; passage.md"},
        {"Tip on the outer wall of a curve",
         "at most " + number_text(order.ledge_force_most_N, 0) + " N beyond " +
             number_text(order.ledge_angle_deg, 0) + " degrees",
         "ours"},
        {"Length along which a file may bind", "at most " + mm_text(order.bound_most_mm, 0),
         "ours"},
        {"Final size",
         "at most " + mm_text(order.enough_wider_mm, 2) +
             " wider than the canal at the working depth",
         habit},
        {"Room for the stop", mm_text(order.stop_room_mm), habit},
        {"Uncertainty",
         "widths as measured, walls to half their error, bends and stiffness to 10 %, life over "
         "its "
         "range; " +
             std::to_string(options.samples) + " samples, seed " + std::to_string(options.seed),
         "tracing; bends and stiffness assumed"},
        {"What an instrument removes", "its envelope at the place where it lies; no wear besides",
         "model, shaping.md"},
        {"Rinse, compact, fill", "1 mm, 4 mm and 3 mm short of the working depth at most", habit}};
    for (const std::string& source : tray.sources) basis.push_back({"Tray", "", source});
    return basis;
}

}  // namespace anfract

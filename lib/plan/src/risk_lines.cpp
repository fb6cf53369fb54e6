#include <cmath>

#include "canal_case.h"

namespace anfract {
namespace {

/// A probability as far as the sampling knows it.
std::string chance(double probability, double low, double high, int samples) {
    if (probability <= 0)
        return "in none of " + std::to_string(samples) + " samples, so below " +
               number_text(std::ceil(high * 1000) / 10, 1) + " %";
    return number_text(probability * 100, probability < 0.1 ? 1 : 0) + " % (" +
           number_text(low * 100, 1) + " to " + number_text(high * 100, 1) + " %)";
}

std::string what_of(RiskKind kind, const OrderOptions& order) {
    switch (kind) {
        case RiskKind::Short:
            return "An instrument does not get to its depth";
        case RiskKind::Fracture:
            return "A rotating instrument turns more often than it stands";
        case RiskKind::Twist:
            return order.torque_share_most == 1
                       ? "A rotating instrument is twisted by more than what breaks it (the middle "
                         "of its range)"
                       : "A rotating instrument is twisted by more than " +
                             percent_text(order.torque_share_most, 0) +
                             " of what breaks it (the middle of its range)";
        case RiskKind::Ledge:
            return "A tip presses on the outer wall of the curve with more than " +
                   number_text(order.ledge_force_most_N, 0) + " N, which begins a ledge";
        case RiskKind::ThinWall:
            return "Less than " + mm_text(order.wall_least_mm) + " of dentine is left";
        case RiskKind::Shift:
            return "The apical third is shifted by more than " + mm_text(order.transport_most_mm);
        case RiskKind::Overshoot:
            return "The working depth passes the foramen";
    }
    return "";
}

/// "measured 0.16 ± 0.04 mm"; nothing for what has no number of its own.
std::string driver_words(const RiskInput& driver) {
    if (driver.sd <= 0) return driver.what;
    const std::string kind = driver.assumed ? "assumed" : "measured";
    const bool counted = driver.value > 0 && driver.unit != "";
    if (counted) {
        return driver.what + ", " + number_text(driver.value, 2) + " ± " +
               number_text(driver.sd, 2) + " " + driver.unit +
               (driver.assumed ? ", the error assumed" : " as measured");
    }
    const std::string size = driver.unit.empty() ? number_text(driver.sd * 100, 0) + " %"
                                                 : number_text(driver.sd, 2) + " " + driver.unit;
    return driver.what + ", " + kind + " to ± " + size;
}

std::string sentence(const Risk& risk, const OrderOptions& order, int samples) {
    std::string text =
        what_of(risk.kind, order) + ": " + chance(risk.probability, risk.low, risk.high, samples);
    // What never happened has no driver worth a sentence.
    if (risk.driver && risk.probability > 0) {
        text += "; " + number_text(risk.driver_share * 100, 0) + " % of this risk is " +
                driver_words(*risk.driver);
    }
    return text + ".";
}

}  // namespace

Result<void> write_risks(CanalCase& canal, const OrderOptions& order, const Progress& progress) {
    if (canal.options.samples < 1 || !canal.plan.final_size) return {};
    RiskOptions options;
    options.samples = canal.options.samples;
    options.seed = canal.options.seed;
    options.threads = canal.options.threads;
    Uncertainty uncertainty = uncertainty_of(canal.canal, canal.native, canal.wall_error_mm);
    // A depth measured at the chair is not uncertain by the scan's error.
    // Nor does a canal that ends at its join come near the foramen.
    if (canal.plan.measured || canal.plan.ends_at_join) uncertainty.depth_sd_mm.reset();
    const auto found =
        order_risk(canal.native, canal.order.steps, uncertainty, order, options, progress);
    if (!found) return tl::unexpected(found.error());
    const int known = found->samples - found->unknown;
    if (known == 0) {
        canal.plan.notes.push_back(
            "How likely this order fails could not be worked out in any of " +
            std::to_string(found->samples) + " samples.");
        return {};
    }
    PlanRisks risks;
    risks.samples = found->samples;
    risks.unknown = found->unknown;
    risks.seed = options.seed;
    risks.any = found->any;
    risks.any_low = found->any_low;
    risks.any_high = found->any_high;
    for (const Risk& risk : found->risks) {
        if (risk.kind == RiskKind::Overshoot && canal.plan.ends_at_join) continue;
        risks.risks.push_back({risk, sentence(risk, order, known)});
    }
    risks.sentence = "That something does not go as planned: " +
                     chance(found->any, found->any_low, found->any_high, known) + ".";
    if (found->unknown > 0) {
        risks.sentence += " " + std::to_string(found->unknown) + " of " +
                          std::to_string(found->samples) +
                          " samples could not be worked out and count in no share.";
    }
    risks.sentence += " The ranges are those of " + std::to_string(known) +
                      " samples; the model's own error is not in them.";
    canal.plan.risks = std::move(risks);
    return {};
}

}  // namespace anfract

#pragma once

#include <cstdint>
#include <map>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// Habits and limits of a plan; see OrderOptions for those of the order of instruments.
struct PlanOptions {
    Access access = Access::Axial;
    double friction = 0.2;
    double short_of_foramen_mm = 0.5;  ///< suggested working depth (common practice, no source)
    double wall_least_mm = 0.3;        ///< must be left [LimStock1987, from memory]
    double wall_flag_mm = 0.5;         ///< warned of (a caution of ours)
    /// Working depths measured at the chair, as with an apex locator, by canal; they take the place
    /// of what the scan suggests. Within (orifice + 1, foramen + 3] mm of the scan.
    std::map<std::string, double> measured_depths_mm;
    /// Canals drawn to find how likely the order fails; 0: no probabilities.
    int samples = 300;
    std::uint64_t seed = 1;   ///< of the drawing; the same gives the same plan
    int devices_per_job = 3;  ///< of the devices that remove nothing, how many are listed
    unsigned threads = 0;
};

/// The working plan of a tooth: for each canal the order of instruments, and what reaches where
/// afterwards.
///
/// The plan carries copies of the tooth and the tray, and of every passage it rests on. The same
/// input gives the same plan, on any number of threads. Errors: BadInput (a tooth without canals, a
/// canal without length, a measured depth that cannot be of its canal), NotFound (a measured depth
/// of a canal the tooth does not have), Cancelled.
Result<Plan> make_plan(const Tooth& tooth, const Tray& tray, const PlanOptions& options = {},
                       const Progress& progress = {});

}  // namespace anfract

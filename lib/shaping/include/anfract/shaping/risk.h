#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "anfract/shaping/order.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// What may go wrong in an order of instruments.
enum class RiskKind {
    Short,      ///< an instrument does not get to its depth
    Fracture,   ///< a rotating instrument turns more often than it stands
    Twist,      ///< a rotating instrument is twisted by more than the limit of the search
    Ledge,      ///< a tip presses on the outer wall of a curve with more than the limit
    ThinWall,   ///< less dentine is left, where it was cut, than the limit
    Shift,      ///< the axis of the apical third is shifted by more than the limit
    Overshoot,  ///< the working depth lies beyond the foramen
};

std::string to_string(RiskKind kind);

/// One thing that is not known, in words.
struct RiskInput {
    std::string what;                ///< "the width at 17.0 mm"
    std::optional<double> depth_mm;  ///< where it is
    double value = 0, sd = 0;        ///< what was measured or assumed, and its standard deviation
    std::string unit;                ///< "mm"; "" for a share
    bool assumed = false;            ///< the standard deviation is not measured
};

/// The standard deviations a canal's order rests on; each input is one independent normal variable.
struct Uncertainty {
    std::vector<double> width_depth_mm;  ///< knots; between them widths vary together
    std::vector<double> width_mm;
    std::vector<double> width_sd_mm;
    bool width_assumed = false;
    double wall_sd_mm = 0.05;
    double bend_sd = 0.1;       ///< of all curvature, as a share (assumed)
    double stiffness_sd = 0.1;  ///< of the alloy, as a share (assumed)
    std::optional<double> depth_sd_mm;
    double least_radius_mm = 0;  ///< for words
};

/// Reads them from a canal; where its widths have no standard deviation, a tenth is assumed.
/// `wall_error_mm` is two standard deviations of a wall.
Uncertainty uncertainty_of(const Canal& canal, const Lumen& lumen, double wall_error_mm);

/// The canal as it may be: widths, walls and bend moved by standard normal numbers in the order of
/// `risk_inputs`. All zero gives the canal itself.
Lumen sampled_lumen(const Lumen& native, const Uncertainty& uncertainty,
                    const std::vector<double>& normal);

/// The inputs in words, in the order of the numbers of `sampled_lumen`: widths, wall, bend,
/// stiffness, life of the alloy, depth of the foramen.
std::vector<RiskInput> risk_inputs(const Uncertainty& uncertainty);

struct RiskOptions {
    int samples = 300;  ///< 0: no risks
    std::uint64_t seed = 1;
    unsigned threads = 0;
};

/// A probability with the error of sampling it, and what it comes from.
struct Risk {
    RiskKind kind = RiskKind::Short;
    double probability = 0;
    double low = 0, high = 0;  ///< 95 % interval of the sampling alone [Wilson1927]
    /// Of what the risk is judged by, over the samples that have it (where no wall was cut there is
    /// none).
    double median = 0, from_5 = 0, to_95 = 0;
    double limit = 0;  ///< that it is judged against
    /// The input with the largest first-order share of the variance, and that share; none when no
    /// input has more than a fifth.
    std::optional<RiskInput> driver;
    double driver_share = 0;
};

/// What an order may come to when the canal is not quite as measured.
struct OrderRisk {
    int samples = 0;  ///< drawn
    /// Of them, those in which a step could not be worked out; they count in no share.
    int unknown = 0;
    double any = 0, any_low = 0, any_high = 0;  ///< that at least one of the risks comes true
    std::vector<Risk> risks;  ///< largest first; none when nothing could be worked out
};

/// Plays `steps` in canals drawn from the uncertainty and counts what goes wrong.
///
/// Each sample moves all inputs at once; shares of variance come from the same samples (see
/// variance_share). The same seed gives the same result for any number of threads.
/// Errors: Cancelled.
Result<OrderRisk> order_risk(const Lumen& native, const std::vector<OrderStep>& steps,
                             const Uncertainty& uncertainty, const OrderOptions& order,
                             const RiskOptions& options, const Progress& progress = {});

/// First-order share of the variance of y that x explains, Var(E[y|x]) / Var(y) [Sobol1993], by the
/// correlation ratio over equally filled classes of x, corrected for their number [Kelley1935].
///
/// @param x, y  paired samples, at least 50; fewer give 0
/// @return in [0, 1]; within 0.02 at 20,000 samples of the Ishigami function (VarianceShare test),
/// within some 0.1 at 300
double variance_share(const std::vector<double>& x, const std::vector<double>& y);

}  // namespace anfract

#include "statistics.h"

#include <algorithm>
#include <cmath>

namespace anfract::truth {
namespace {

constexpr double z95 = 1.959963984540054;  // two-sided 95 % of the normal distribution

/// [Wilson1927]: the bounds of a share of which `hits` of `count` were seen.
double wilson(int hits, int count, double sign) {
    if (count == 0) return sign < 0 ? 0.0 : 1.0;
    const double n = count, p = hits / n, z2 = z95 * z95;
    const double middle = p + z2 / (2 * n);
    const double half = z95 * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n));
    return std::clamp((middle + sign * half) / (1 + z2 / n), 0.0, 1.0);
}

/// What decides about one canal or one root: how surely a canal was stated there.
struct Scores {
    std::vector<std::pair<double, double>> canals;  ///< least width, presence (0: not traced)
    std::vector<double> single_roots;  ///< greatest presence of a second canal (0: none)
};

Scores scores_of(const std::vector<Trial>& runs) {
    Scores scores;
    for (const Trial& run : runs) {
        for (const CanalError& canal : run.error.canals) {
            scores.canals.emplace_back(canal.least_width_mm, canal.found() ? canal.presence : 0.0);
        }
        if (!run.failure.empty()) continue;  // a tooth that was refused says nothing of its roots
        for (std::size_t r = 0; r < run.error.roots.size(); ++r) {
            if (run.error.roots[r].canals != 1) continue;
            double worst = 0;
            for (const InventedCanal& invented : run.error.invented) {
                if (invented.root == r) worst = std::max(worst, invented.presence);
            }
            scores.single_roots.push_back(worst);
        }
    }
    return scores;
}

WidthBand band_of(const Scores& scores, double from_mm, double to_mm) {
    static const std::vector<double> thresholds{0.001, 0.01, 0.02, 0.05, 0.1,  0.2,
                                                0.3,   0.4,  0.5,  0.6,  0.7,  0.8,
                                                0.9,   0.95, 0.98, 0.99, 0.999};
    WidthBand band{from_mm, to_mm, {}};
    for (const double threshold : thresholds) {
        RocPoint point;
        point.threshold = threshold;
        for (const auto& [width, presence] : scores.canals) {
            if (width < from_mm || width >= to_mm) continue;
            ++point.sensitivity.count;
            if (presence >= threshold) ++point.sensitivity.hits;
        }
        point.specificity.count = int(scores.single_roots.size());
        for (const double presence : scores.single_roots) {
            if (presence < threshold) ++point.specificity.hits;
        }
        band.points.push_back(point);
    }
    return band;
}

std::vector<ReliabilityBand> reliability_of(const std::vector<Trial>& runs) {
    std::vector<ReliabilityBand> bands;
    const std::vector<double> edges{0, 0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98, 1.0};
    for (std::size_t i = 0; i + 1 < edges.size(); ++i)
        bands.push_back({edges[i], edges[i + 1], 0, {}});
    const auto add = [&](double presence, bool real) {
        for (ReliabilityBand& band : bands) {
            if (presence < band.from || (presence >= band.to && band.to < 1)) continue;
            band.mean_stated += presence;
            ++band.real.count;
            if (real) ++band.real.hits;
        }
    };
    for (const Trial& run : runs) {
        for (const CanalError& canal : run.error.canals) {
            if (canal.found()) add(canal.presence, true);
        }
        for (const InventedCanal& canal : run.error.invented) add(canal.presence, false);
    }
    for (ReliabilityBand& band : bands) {
        if (band.real.count > 0) band.mean_stated /= band.real.count;
    }
    return bands;
}

class CoverageSum {
  public:
    explicit CoverageSum(std::string of) { coverage_.of = std::move(of); }
    void add(double error, double sd) {
        if (sd <= 0) return;
        ++coverage_.inside.count;
        if (std::abs(error) <= z95 * sd) ++coverage_.inside.hits;
        squares_ += error * error / (sd * sd);
    }
    Coverage result() const {
        Coverage coverage = coverage_;
        const int n = coverage.inside.count;
        coverage.error_over_sd_rms = n > 0 ? std::sqrt(squares_ / n) : 0.0;
        return coverage;
    }

  private:
    Coverage coverage_;
    double squares_ = 0;
};

/// Intervals of the figures that say how canals bend.
void cover_curves(const std::vector<Trial>& runs, std::vector<Coverage>& rows) {
    const std::pair<const char*, std::vector<FigurePair> CurveFigures::*> figures[] = {
        {"Schneider angle, clinical, cross and worst view", &CurveFigures::schneider_deg},
        {"radius of the arc in these views", &CurveFigures::arc_radius_mm},
        {"angle of a bend", &CurveFigures::bend_deg},
        {"radius of a bend", &CurveFigures::bend_radius_mm}};
    for (const auto& [name, figure] : figures) {
        CoverageSum sum(name);
        for (const Trial& run : runs) {
            for (const CanalError& canal : run.error.canals) {
                for (const FigurePair& pair : canal.curve.*figure)
                    sum.add(pair.traced - pair.true_value, pair.sd);
            }
        }
        rows.push_back(sum.result());
    }
}

std::vector<Coverage> coverage_of(const std::vector<Trial>& runs) {
    CoverageSum depth("depth to the foramen");
    CoverageSum narrow("width below 0.25 mm"), middle("width 0.25 to 0.5 mm"),
        wide("width above 0.5 mm");
    for (const Trial& run : runs) {
        for (const CanalError& canal : run.error.canals) {
            if (!canal.found()) continue;
            if (!canal.cut) depth.add(canal.depth_mm, canal.depth_sd_mm);
            for (const WidthPair& w : canal.widths) {
                CoverageSum& sum = w.true_mm < 0.25 ? narrow : w.true_mm < 0.5 ? middle : wide;
                sum.add(w.traced_mm - w.true_mm, w.sd_mm);
            }
        }
    }
    std::vector<Coverage> rows{depth.result(), narrow.result(), middle.result(), wide.result()};
    cover_curves(runs, rows);
    return rows;
}

Spread spread_of(const std::string& of, double aim, std::vector<double> errors) {
    Spread spread;
    spread.of = of;
    spread.aim = aim;
    spread.count = spread.within_aim.count = int(errors.size());
    if (errors.empty()) return spread;
    for (double& error : errors) {
        spread.mean += error / spread.count;
        spread.rms += error * error / spread.count;
        error = std::abs(error);
        if (error <= aim) ++spread.within_aim.hits;
    }
    spread.rms = std::sqrt(spread.rms);
    std::sort(errors.begin(), errors.end());
    const auto quantile = [&](double q) {
        return errors[std::size_t(q * double(errors.size() - 1))];
    };
    spread.median = quantile(0.5);
    spread.p95 = quantile(0.95);
    return spread;
}

std::vector<Spread> spreads_of(const std::vector<Trial>& runs) {
    std::vector<double> line, foramen, depth, width, wall, surface;
    for (const Trial& run : runs) {
        if (run.failure.empty()) surface.push_back(run.error.surface_rms_mm);
        for (const CanalError& canal : run.error.canals) {
            if (!canal.found()) continue;
            line.push_back(canal.line_rms_mm);
            if (!canal.cut) {
                foramen.push_back(canal.foramen_mm);
                depth.push_back(canal.depth_mm);
            }
            wall.push_back(canal.wall_rms_mm);
            for (const WidthPair& w : canal.widths) {
                // The aim is stated for 0.25 mm.
                if (w.true_mm > 0.22 && w.true_mm < 0.28)
                    width.push_back(w.traced_mm / w.true_mm - 1);
            }
        }
    }
    return {spread_of("centreline, rms of a canal, mm", 0.05, line),
            spread_of("foramen, mm", 0.2, foramen),
            spread_of("depth to the foramen, mm", 0.2, depth),
            spread_of("width where it is 0.22 to 0.28 mm, relative", 0.08, width),
            spread_of("thinnest wall, rms of a canal, mm", 0.1, wall),
            spread_of("outer surface, rms of a tooth, mm", 0.05, surface)};
}

}  // namespace

double Share::low() const { return wilson(hits, count, -1); }
double Share::high() const { return wilson(hits, count, 1); }

const RocPoint& at_threshold(const WidthBand& band, double threshold) {
    return *std::min_element(
        band.points.begin(), band.points.end(), [&](const RocPoint& a, const RocPoint& b) {
            return std::abs(a.threshold - threshold) < std::abs(b.threshold - threshold);
        });
}

Statistics statistics_of(const std::vector<Trial>& runs) {
    Statistics s;
    s.teeth = int(runs.size());
    const Scores scores = scores_of(runs);
    s.reliability = reliability_of(runs);
    s.all = band_of(scores, 0.15, 1e9);
    const std::vector<double> edges{0, 0.10, 0.15, 0.20, 0.25, 0.35, 1e9};
    for (std::size_t i = 0; i + 1 < edges.size(); ++i)
        s.widths.push_back(band_of(scores, edges[i], edges[i + 1]));
    for (const Trial& run : runs) {
        if (!run.failure.empty()) ++s.failed;
        s.seconds_mean += run.seconds / s.teeth;
        s.cpu_seconds_mean += run.cpu_seconds / s.teeth;
        s.canals += int(run.error.canals.size());
        for (const InventedCanal& canal : run.error.invented)
            ++(canal.presence >= stated_from ? s.invented_stated : s.invented_possible);
        for (const CanalError& canal : run.error.canals) {
            if (canal.found() && canal.presence >= stated_from) continue;
            ++s.missed_stated;
            if (canal.found()) ++s.found_possible;
        }
    }
    s.coverage = coverage_of(runs);
    s.spreads = spreads_of(runs);
    return s;
}

}  // namespace anfract::truth

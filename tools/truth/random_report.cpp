#include "random_report.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "chart.h"

namespace anfract::truth {
namespace {

std::string percent(const Share& share) {
    if (share.count == 0) return "none";
    return fmt::format("{:.1f} % ({:.1f}-{:.1f}), {} of {}", 100 * share.value(), 100 * share.low(),
                       100 * share.high(), share.hits, share.count);
}

std::string band_name(const WidthBand& band) {
    if (band.to_mm > 100) return fmt::format("{:.2f} mm and more", band.from_mm);
    if (band.from_mm == 0) return fmt::format("below {:.2f} mm", band.to_mm);
    return fmt::format("{:.2f} to {:.2f} mm", band.from_mm, band.to_mm);
}

std::string finding_table(const Statistics& s) {
    std::string out =
        "| least width of the canal | stated, presence 0.5 and more | stated or possible |\n"
        "|---|---|---|\n";
    const auto row = [&](const WidthBand& band, const std::string& name) {
        out += fmt::format("| {} | {} | {} |\n", name,
                           percent(at_threshold(band, stated_from).sensitivity),
                           percent(band.points.front().sensitivity));
    };
    for (const WidthBand& band : s.widths) row(band, band_name(band));
    row(s.all, "**all of 0.15 mm and more**");
    out += fmt::format("| *roots of one canal in which no second was* | {} | {} |\n",
                       percent(at_threshold(s.all, stated_from).specificity),
                       percent(s.all.points.front().specificity));
    return out;
}

std::string reliability_table(const Statistics& s) {
    std::string out = "| stated presence | mean stated | real |\n|---|---|---|\n";
    for (const ReliabilityBand& band : s.reliability) {
        if (band.real.count == 0) continue;
        out += fmt::format("| {} to {} | {:.3f} | {} |\n", band.from, band.to, band.mean_stated,
                           percent(band.real));
    }
    return out;
}

std::string coverage_table(const Statistics& s) {
    std::string out =
        "| interval of 1.96 sd of | holds the truth | error over sd, rms |\n|---|---|---|\n";
    for (const Coverage& c : s.coverage) {
        out += fmt::format("| {} | {} | {:.2f} |\n", c.of, percent(c.inside), c.error_over_sd_rms);
    }
    return out;
}

std::string spread_table(const Statistics& s) {
    std::string out =
        "| error of | count | rms | mean | median | 95 % below | aim | within the aim |\n"
        "|---|---|---|---|---|---|---|---|\n";
    for (const Spread& e : s.spreads) {
        out += fmt::format("| {} | {} | {:.3f} | {:+.3f} | {:.3f} | {:.3f} | {} | {} |\n", e.of,
                           e.count, e.rms, e.mean, e.median, e.p95, e.aim, percent(e.within_aim));
    }
    return out;
}

nlohmann::json json_of(const Share& share) {
    return {{"hits", share.hits},
            {"count", share.count},
            {"value", share.value()},
            {"low", share.low()},
            {"high", share.high()}};
}

nlohmann::json json_of(const WidthBand& band) {
    nlohmann::json points = nlohmann::json::array();
    for (const RocPoint& p : band.points) {
        points.push_back({{"threshold", p.threshold},
                          {"sensitivity", json_of(p.sensitivity)},
                          {"specificity", json_of(p.specificity)}});
    }
    return {{"from_mm", band.from_mm}, {"to_mm", band.to_mm}, {"points", points}};
}

nlohmann::json json_of(const CanalError& c) {
    return {{"name", c.name},
            {"traced_name", c.traced_name},
            {"presence", c.presence},
            {"least_width_mm", c.least_width_mm},
            {"line_rms_mm", c.line_rms_mm},
            {"orifice_mm", c.orifice_mm},
            {"cut", c.cut},
            {"foramen_mm", c.foramen_mm},
            {"depth_mm", c.depth_mm},
            {"depth_sd_mm", c.depth_sd_mm},
            {"width_rms", c.width_rms},
            {"width_mean", c.width_mean},
            {"width_z_rms", c.width_z_rms},
            {"wall_rms_mm", c.wall_rms_mm}};
}

nlohmann::json json_of(const Trial& run) {
    nlohmann::json canals = nlohmann::json::array(), invented = nlohmann::json::array();
    for (const CanalError& canal : run.error.canals) canals.push_back(json_of(canal));
    for (const InventedCanal& canal : run.error.invented) {
        invented.push_back({{"name", canal.name},
                            {"presence", canal.presence},
                            {"root", run.error.roots[canal.root].label}});
    }
    const PhantomOptions& o = run.options;
    return {{"fdi", run.fdi},
            {"kind", o.kind},
            {"seed", o.seed},
            {"voxel_mm", o.voxel_mm},
            {"psf_fwhm_mm", o.psf_fwhm_mm},
            {"noise", o.noise},
            {"failure", run.failure},
            {"grey_scale", o.grey_scale},
            {"grey_offset", o.grey_offset},
            {"metal", o.metal},
            {"neighbours", o.neighbours},
            {"thin_bone", o.thin_bone},
            {"field_mm", o.field_mm},
            {"movement_mm", o.movement_mm},
            {"missing_arc_deg", o.missing_arc_deg},
            {"canals", canals},
            {"invented", invented},
            {"surface_rms_mm", run.error.surface_rms_mm},
            {"seconds", run.seconds}};
}

Chart reliability_chart(const Statistics& s) {
    Chart chart{"Is a canal stated with this presence real?",
                {"stated presence", 0, 1, {0, 0.2, 0.4, 0.6, 0.8, 1}},
                {"share that is real", 0, 1, {0, 0.2, 0.4, 0.6, 0.8, 1}},
                {}};
    ChartSeries seen{"traced canals, 95 % interval", {}, true, true, false};
    for (const ReliabilityBand& band : s.reliability) {
        if (band.real.count == 0) continue;
        seen.points.push_back(
            {band.mean_stated, band.real.value(), band.real.low(), band.real.high()});
    }
    chart.series = {seen, {"as it should be", {{0, 0}, {1, 1}}, true, false, true}};
    return chart;
}

Chart roc_chart(const Statistics& s) {
    Chart chart{
        "Finding a canal, by its least width",
        {"roots of one canal with an invented second, share", 0, 0.2, {0, 0.05, 0.1, 0.15, 0.2}},
        {"canals found, share", 0, 1, {0, 0.2, 0.4, 0.6, 0.8, 1}},
        {}};
    for (const WidthBand& band : s.widths) {
        if (band.points.front().sensitivity.count == 0) continue;
        ChartSeries series{band_name(band), {}, true, true, false};
        for (const RocPoint& p : band.points) {
            series.points.push_back({1 - p.specificity.value(), p.sensitivity.value()});
        }
        chart.series.push_back(series);
    }
    return chart;
}

}  // namespace

std::string markdown_of(const Statistics& s) {
    return fmt::format(
        "{} teeth with {} canals; {} could not be traced. Missed: {}, of which {} were kept as "
        "possible. Invented: {}, and {} as possible. Tracing took {:.2f} s a tooth on one thread "
        "({:.2f} s of processor time).\n\n{}\n{}\n{}\n{}",
        s.teeth, s.canals, s.failed, s.missed_stated, s.found_possible, s.invented_stated,
        s.invented_possible, s.seconds_mean, s.cpu_seconds_mean, finding_table(s),
        reliability_table(s), spread_table(s), coverage_table(s));
}

std::string json_of(const Statistics& s, const std::vector<Trial>& runs) {
    nlohmann::json out{{"invented_data", true},
                       {"teeth", s.teeth},
                       {"failed", s.failed},
                       {"canals", s.canals},
                       {"missed", s.missed_stated},
                       {"missed_but_possible", s.found_possible},
                       {"invented", s.invented_stated},
                       {"invented_possible", s.invented_possible},
                       {"all", json_of(s.all)}};
    for (const WidthBand& band : s.widths) out["by_width"].push_back(json_of(band));
    for (const ReliabilityBand& b : s.reliability) {
        out["reliability"].push_back({{"from", b.from},
                                      {"to", b.to},
                                      {"mean_stated", b.mean_stated},
                                      {"real", json_of(b.real)}});
    }
    for (const Coverage& c : s.coverage) {
        out["coverage"].push_back({{"of", c.of},
                                   {"inside", json_of(c.inside)},
                                   {"error_over_sd_rms", c.error_over_sd_rms}});
    }
    for (const Spread& e : s.spreads) {
        out["errors"].push_back({{"of", e.of},
                                 {"count", e.count},
                                 {"rms", e.rms},
                                 {"mean", e.mean},
                                 {"median", e.median},
                                 {"p95", e.p95},
                                 {"aim", e.aim},
                                 {"within_aim", json_of(e.within_aim)}});
    }
    for (const Trial& run : runs) out["runs"].push_back(json_of(run));
    return out.dump(1) + "\n";
}

Result<void> write_figures(const Statistics& statistics, const std::string& folder) {
    const Result<void> first = write_file_atomically(folder + "/truth-reliability.svg",
                                                     svg_of(reliability_chart(statistics)));
    if (!first) return first;
    return write_file_atomically(folder + "/truth-roc.svg", svg_of(roc_chart(statistics)));
}

}  // namespace anfract::truth

#include <cmath>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "anfract/scan/survey.h"

namespace anfract {
namespace {

using nlohmann::json;

const std::vector<std::string> cautions{
    "This is a planning aid, not a cleared medical device; the licensed clinician decides.",
    "The grey values of cone-beam scans are not calibrated; the names of tissues are suggestions.",
    "That a canal is not seen does not mean that it is not there."};

json vector_json(const Vec3& v) { return json::array({v.x(), v.y(), v.z()}); }

/// A number without the digits that mean nothing.
double tidy(double value, double per_unit) { return std::round(value * per_unit) / per_unit; }

std::string line(const char* format, auto... values) {
    char text[256];
    std::snprintf(text, sizeof text, format, values...);
    return text;
}

}  // namespace

json survey_document(const OpenedScan& scan, const Survey& s) {
    const GridGeometry& g = scan.volume.geometry;
    json direction = json::array();
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column) direction.push_back(g.direction(row, column));
    }
    json document{{"format", "anfract.survey"},
                  {"version", 1},
                  {"source", scan.source},
                  {"series_uid", scan.volume.series_uid},
                  {"description", scan.description},
                  {"encoding", scan.encoding},
                  {"invented", scan.volume.invented},
                  {"geometry",
                   {{"size", g.size},
                    {"spacing_mm", vector_json(g.spacing_mm)},
                    {"origin_mm", vector_json(g.origin_P)},
                    {"direction", direction}}},
                  {"grey",
                   {{"lowest", s.lowest_grey},
                    {"low", s.low_grey},
                    {"high", s.high_grey},
                    {"highest", s.highest_grey}}},
                  {"noise", nullptr},
                  {"sharpness", nullptr},
                  {"tissues", json::array()},
                  {"canals",
                   {{"contrast", nullptr},
                    {"index", 5},
                    {"visible", json::array()},
                    {"half_maximum_limit_mm", tidy(s.half_maximum_limit_mm, 10000)}}},
                  {"verdict", s.verdict},
                  {"problems", scan.problems},
                  {"cautions", cautions}};
    if (s.noise) {
        document["noise"] = {{"sd", tidy(s.noise->sd_grey, 100)},
                             {"correlation_mm", tidy(s.noise->correlation_mm, 1000)},
                             {"samples", s.noise->samples}};
    }
    if (s.sharpness) {
        document["sharpness"] = {{"fwhm_mm", tidy(s.sharpness->fwhm_mm, 10000)},
                                 {"fwhm_sd_mm", tidy(s.sharpness->fwhm_sd_mm, 10000)},
                                 {"contrast", tidy(s.sharpness->contrast_grey, 10)},
                                 {"edges", s.sharpness->edges}};
    }
    if (s.canal_contrast_grey > 0) document["canals"]["contrast"] = tidy(s.canal_contrast_grey, 10);
    for (const TissueLevel& t : s.tissues) {
        document["tissues"].push_back({{"name", t.name},
                                       {"grey", tidy(t.grey, 10)},
                                       {"sd", tidy(t.sd_grey, 10)},
                                       {"share", tidy(t.share, 10000)}});
    }
    for (const VisibleCanal& v : s.visible) {
        document["canals"]["visible"].push_back(
            {{"length_mm", v.length_mm}, {"diameter_mm", tidy(v.diameter_mm, 1000)}});
    }
    return document;
}

std::string survey_text(const OpenedScan& scan, const Survey& s) {
    const GridGeometry& g = scan.volume.geometry;
    const Vec3 extent = g.spacing_mm.cwiseProduct(Vec3(g.size[0], g.size[1], g.size[2]));
    std::string text = scan.source +
                       (scan.description.empty() ? "" : " '" + scan.description + "'") +
                       (scan.volume.invented ? " (invented data)" : "") + "\n";
    text +=
        line("  voxels     %d x %d x %d of %.4g x %.4g x %.4g mm, %.1f x %.1f x %.1f mm in all\n",
             g.size[0], g.size[1], g.size[2], g.spacing_mm.x(), g.spacing_mm.y(), g.spacing_mm.z(),
             extent.x(), extent.y(), extent.z());
    text += line("  grey       %.0f to %.0f (99.8 %% within %.0f to %.0f)\n", s.lowest_grey,
                 s.highest_grey, s.low_grey, s.high_grey);
    if (s.noise) {
        text += line("  noise      %.0f grey units, hanging together over %.2f mm\n",
                     s.noise->sd_grey, s.noise->correlation_mm);
    } else {
        text += "  noise      not measured: too little even bright tissue\n";
    }
    if (s.sharpness) {
        text += line("  blur       %.2f mm wide at half height (+/- %.3f), from %zu edges\n",
                     s.sharpness->fwhm_mm, s.sharpness->fwhm_sd_mm, s.sharpness->edges);
    } else {
        text += "  blur       not measured: too few clear edges\n";
    }
    for (const TissueLevel& t : s.tissues) {
        text += line("  tissue     %-24s %6.0f +/- %.0f\n", t.name.c_str(), t.grey, t.sd_grey);
    }
    for (const std::string& sentence : s.verdict) text += sentence + "\n";
    for (const std::string& problem : scan.problems) text += "Problem: " + problem + "\n";
    for (const std::string& caution : cautions) text += "Caution: " + caution + "\n";
    return text;
}

}  // namespace anfract

#include "ruler_drawing.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "size_colour.h"
#include "text.h"

namespace anfract {
namespace {

constexpr double scale_height = 24, lane_gap = 9, bends_height = 15, left_height = 15,
                 bar_height = 10.2;
constexpr double word_size = 7;
constexpr double crown_half = 11;
/// Dentine thicker than this is cut: next to the crown it says nothing and fills the page.
constexpr double thickest_mm = 2.0;

TextStyle words(Colour colour = paper::ink, Align align = Align::Left, bool bold = false) {
    return {.size_pt = word_size, .bold = bold, .colour = colour, .align = align, .one_line = true};
}

void stroke(cairo_t* cr, double x0, double y0, double x1, double y1, double width, Colour colour) {
    colour.set(cr);
    cairo_set_line_width(cr, width);
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

/// How sharply a canal bends, in steps: radius above 20 mm, to 8, to 4, and less. The limits 8 and
/// 4 mm are the classes of [Estrela2008] (from memory).
int bend_step(double curvature_per_mm) {
    if (curvature_per_mm >= 1.0 / 4) return 3;
    if (curvature_per_mm >= 1.0 / 8) return 2;
    return curvature_per_mm >= 1.0 / 20 ? 1 : 0;
}

/// Steps of the wall that is left, as on the page: no longer safe [LimStock1987] (from memory),
/// thin and moderate (ours).
int wall_step(double wall_mm) {
    if (wall_mm <= 0.3) return 3;
    if (wall_mm <= 0.5) return 2;
    return wall_mm <= 1.0 ? 1 : 0;
}

double bend_height(double curvature_per_mm) {
    return std::clamp(curvature_per_mm / 0.4, 0.06, 1.0) * (bends_height - 2);
}

/// Slanting lines inside a box, for the stretch where a device fills the canal.
void hatch(cairo_t* cr, double x0, double x1, double y0, double y1) {
    cairo_save(cr);
    cairo_rectangle(cr, x0, y0, x1 - x0, y1 - y0);
    paper::sheet.set(cr);
    cairo_fill_preserve(cr);
    cairo_clip_preserve(cr);
    paper::ink.set(cr);
    cairo_set_line_width(cr, 0.5);
    cairo_stroke(cr);
    cairo_set_line_width(cr, 0.7);
    const double height = y1 - y0;
    for (double x = x0 - height; x < x1; x += 2.4) {
        cairo_move_to(cr, x, y1);
        cairo_line_to(cr, x + height, y0);
    }
    cairo_stroke(cr);
    cairo_restore(cr);
}

}  // namespace

RulerDrawing::RulerDrawing(std::vector<RulerLane> lanes, double width_pt)
    : lanes_(std::move(lanes)),
      width_(width_pt),
      left_(0.315 * width_pt),
      right_(0.155 * width_pt) {
    double deepest = 1;
    std::vector<double> widths;
    for (RulerLane& lane : lanes_) {
        deepest = std::max(deepest, lane.foramen_mm + lane.depth_sd_mm);
        for (const RulerBar& bar : lane.bars) deepest = std::max(deepest, bar.ends_mm);
        widths.insert(widths.end(), lane.width_mm.begin(), lane.width_mm.end());
        for (auto* walls : {&lane.wall_above_mm, &lane.wall_below_mm}) {
            for (auto& wall : *walls) {
                if (wall) wall = std::min(*wall, thickest_mm);
            }
        }
    }
    depth_max_ = std::ceil(deepest);
    scale_ = (width_ - left_ - right_) / depth_max_;
    // Narrow canals must be seen, wide ones must not crowd the page: the widest is drawn up to
    // 2.4 mm wide.
    const double widest = widths.empty() ? 1 : *std::max_element(widths.begin(), widths.end());
    width_factor_ = std::clamp(std::floor(2 * 2.4 / std::max(0.01, widest)) / 2, 1.0, 4.0);
}

double RulerDrawing::reach_above_pt(const RulerLane& lane) const {
    double reach = crown_half;
    for (std::size_t i = 0; i < lane.depth_mm.size(); ++i) {
        reach = std::max(
            reach, half_width_pt(lane.width_mm[i]) + lane.wall_above_mm[i].value_or(0) * scale_);
    }
    return reach;
}

double RulerDrawing::reach_below_pt(const RulerLane& lane) const {
    double reach = crown_half;
    for (std::size_t i = 0; i < lane.depth_mm.size(); ++i) {
        reach = std::max(
            reach, half_width_pt(lane.width_mm[i]) + lane.wall_below_mm[i].value_or(0) * scale_);
    }
    return reach;
}

double RulerDrawing::band_height_pt(const RulerLane& lane) const {
    return reach_above_pt(lane) + reach_below_pt(lane);
}

double RulerDrawing::lane_height_pt(const RulerLane& lane) const {
    return band_height_pt(lane) + strips_height_pt(lane) + 5 +
           bar_height * double(lane.bars.size()) + lane_gap;
}

double RulerDrawing::strips_height_pt(const RulerLane& lane) const {
    return bends_height + (lane.left ? left_height : 0);
}

double RulerDrawing::height_to_pt(std::size_t lane) const {
    double height = scale_height;
    for (std::size_t i = 0; i <= lane; ++i) height += lane_height_pt(lanes_[i]);
    return height - lane_gap;
}

double RulerDrawing::height_pt() const { return height_to_pt(lanes_.size() - 1); }

void RulerDrawing::draw(cairo_t* cr, double x_pt, double y_pt) const {
    cairo_save(cr);
    cairo_translate(cr, x_pt, y_pt);
    draw_scale(cr);
    double top = scale_height;
    for (const RulerLane& lane : lanes_) {
        draw_lane(cr, lane, top);
        top += lane_height_pt(lane);
    }
    cairo_restore(cr);
}

void RulerDrawing::draw_scale(cairo_t* cr) const {
    const double base = scale_height - 8;
    Text(cr, "depth, mm", words(paper::quiet)).draw_on_baseline(0, base - 4.5);
    stroke(cr, x_of(0), base, x_of(depth_max_), base, 0.8, paper::ink);
    for (int half_mm = 0; half_mm <= 2 * int(depth_max_); ++half_mm) {
        const double x = x_of(half_mm / 2.0);
        const bool whole = half_mm % 2 == 0, five = half_mm % 10 == 0;
        stroke(cr, x, base, x, base - (five ? 5 : whole ? 3.2 : 1.8), five ? 0.8 : 0.5, paper::ink);
        if (half_mm % 4 == 0 || half_mm == 2 * int(depth_max_)) {
            if (half_mm == 2 * int(depth_max_) && half_mm % 4 != 0) continue;
            const Text number(cr, std::to_string(half_mm / 2), words());
            number.draw_on_baseline(x - number.width_pt() / 2, base - 6.8);
        }
    }
}

void RulerDrawing::draw_lane(cairo_t* cr, const RulerLane& lane, double top) const {
    const double axis = top + reach_above_pt(lane);
    const double bottom = top + band_height_pt(lane);
    // Faint lines every 5 mm carry the scale down; they stop short of the words.
    for (int depth = 0; depth <= int(depth_max_); depth += 5) {
        stroke(cr, x_of(depth), top - 2, x_of(depth), bottom + bends_height, 0.35, paper::rule);
    }
    draw_crown(cr, lane, axis);
    draw_dentine(cr, lane, axis);
    draw_canal(cr, lane, axis);
    draw_end(cr, lane, top, bottom);
    Text(cr, lane.name, {.size_pt = 10.5, .bold = true, .one_line = true}, left_ - 8)
        .draw_on_baseline(0, axis - 1);
    Text(cr, lane.depth_text, {.size_pt = 8, .colour = paper::quiet, .one_line = true}, left_ - 8)
        .draw_on_baseline(0, axis + 10);
    draw_bends(cr, lane, bottom + bends_height);
    if (lane.left) draw_left(cr, lane, bottom + strips_height_pt(lane));
    double y = bottom + strips_height_pt(lane) + 5;
    for (const RulerBar& bar : lane.bars) {
        draw_bar(cr, bar, y + bar_height / 2);
        y += bar_height;
    }
}

void RulerDrawing::draw_crown(cairo_t* cr, const RulerLane& lane, double axis) const {
    // The way from the reference point to the orifice; its height says nothing.
    paper::enamel.set(cr);
    cairo_rectangle(cr, x_of(0), axis - crown_half, x_of(lane.orifice_mm) - x_of(0),
                    2 * crown_half);
    cairo_fill(cr);
    paper::sheet.set(cr);
    const double half = std::min(crown_half - 4, half_width_pt(lane.width_mm.front()));
    cairo_rectangle(cr, x_of(0), axis - half, x_of(lane.orifice_mm) - x_of(0), 2 * half);
    cairo_fill(cr);
}

void RulerDrawing::draw_dentine(cairo_t* cr, const RulerLane& lane, double axis) const {
    const auto side = [&](const std::vector<std::optional<double>>& wall, double sign) {
        std::size_t i = 0;
        while (i < wall.size()) {
            if (!wall[i]) {
                ++i;
                continue;
            }
            const std::size_t first = i;
            while (i < wall.size() && wall[i]) ++i;
            for (std::size_t k = first; k < i; ++k) {
                cairo_line_to(cr, x_of(lane.depth_mm[k]),
                              axis + sign * (half_width_pt(lane.width_mm[k]) + *wall[k] * scale_));
            }
            for (std::size_t k = i; k-- > first;) cairo_line_to(cr, x_of(lane.depth_mm[k]), axis);
            cairo_close_path(cr);
            paper::dentine.set(cr);
            cairo_fill(cr);
        }
    };
    side(lane.wall_above_mm, -1);
    side(lane.wall_below_mm, +1);
}

void RulerDrawing::draw_canal(cairo_t* cr, const RulerLane& lane, double axis) const {
    const auto band = [&](const std::vector<double>& depth, const std::vector<double>& width) {
        for (std::size_t k = 0; k < depth.size(); ++k) {
            cairo_line_to(cr, x_of(depth[k]), axis - half_width_pt(width[k]));
        }
        for (std::size_t k = depth.size(); k-- > 0;) {
            cairo_line_to(cr, x_of(depth[k]), axis + half_width_pt(width[k]));
        }
        cairo_close_path(cr);
    };
    band(lane.depth_mm, lane.width_mm);
    paper::canal.set(cr);
    cairo_fill(cr);
    if (lane.shaped_depth_mm.size() < 2) return;
    const double dash[] = {2.2, 1.6};
    cairo_set_dash(cr, dash, 2, 0);
    cairo_set_line_width(cr, 0.7);
    paper::canal.set(cr);
    for (double sign : {-1.0, 1.0}) {
        for (std::size_t k = 0; k < lane.shaped_depth_mm.size(); ++k) {
            cairo_line_to(cr, x_of(lane.shaped_depth_mm[k]),
                          axis + sign * half_width_pt(lane.shaped_width_mm[k]));
        }
        cairo_stroke(cr);
    }
    cairo_set_dash(cr, nullptr, 0, 0);
}

void RulerDrawing::draw_end(cairo_t* cr, const RulerLane& lane, double top, double bottom) const {
    const double x = x_of(lane.foramen_mm);
    const double spread = 2 * lane.depth_sd_mm * scale_;
    if (spread > 0) {
        paper::ink.set(cr, 0.13);
        cairo_rectangle(cr, x - spread, top, 2 * spread, bottom - top);
        cairo_fill(cr);
    }
    stroke(cr, x, top, x, bottom, 1.1, paper::ink);
    Text(cr, "foramen", words(paper::quiet)).draw_on_baseline(x + spread + 4, top + 8);
}

void RulerDrawing::draw_bends(cairo_t* cr, const RulerLane& lane, double base) const {
    std::size_t sharpest = 0;
    for (std::size_t k = 0; k < lane.depth_mm.size(); ++k) {
        const double curvature = lane.curvature_per_mm[k];
        if (curvature > lane.curvature_per_mm[sharpest]) sharpest = k;
        const double from =
            k == 0 ? lane.depth_mm[k] : (lane.depth_mm[k - 1] + lane.depth_mm[k]) / 2;
        const double to = k + 1 == lane.depth_mm.size()
                              ? lane.depth_mm[k]
                              : (lane.depth_mm[k] + lane.depth_mm[k + 1]) / 2;
        const double height = bend_height(curvature);
        risk_colour(bend_step(curvature)).set(cr);
        // A hair of overlap keeps viewers from showing seams between neighbours.
        cairo_rectangle(cr, x_of(from), base - height, x_of(to) - x_of(from) + 0.15, height);
        cairo_fill(cr);
    }
    Text(cr, "bend", words(paper::quiet, Align::Right), left_ - 8).draw_on_baseline(0, base - 1);
    const double peak = lane.curvature_per_mm[sharpest];
    if (bend_step(peak) == 0) return;
    Text(cr, "radius " + fixed(1 / peak, 1) + " mm at " + fixed(lane.depth_mm[sharpest], 1),
         words(paper::quiet))
        .draw_on_baseline(x_of(lane.depth_mm.back()) + 4, base - 1);
}

void RulerDrawing::draw_left(cairo_t* cr, const RulerLane& lane, double base) const {
    const WatchedWall& left = *lane.left;
    std::optional<std::size_t> thinnest;
    for (std::size_t k = 0; k < left.depth_mm.size(); ++k) {
        if (!left.wall_mm[k]) continue;
        if (!thinnest || *left.wall_mm[k] < *left.wall_mm[*thinnest]) thinnest = k;
        const double half = k + 1 < left.depth_mm.size()
                                ? (left.depth_mm[k + 1] - left.depth_mm[k]) / 2
                                : (left.depth_mm[k] - left.depth_mm[k - (k > 0)]) / 2;
        const double x = x_of(left.depth_mm[k] - half), width = 2 * half * scale_;
        const double height =
            std::clamp(*left.wall_mm[k] / thickest_mm, 0.06, 1.0) * (left_height - 4);
        risk_colour(wall_step(*left.wall_mm[k])).set(cr);
        cairo_rectangle(cr, x, base - height, width + 0.15, height);
        cairo_fill(cr);
        if (left.danger_zone[k]) stroke(cr, x, base, x + width, base, 1.6, paper::ink);
    }
    if (!thinnest) return;
    Text(cr, "wall left", words(paper::quiet, Align::Right), left_ - 8)
        .draw_on_baseline(0, base - 1);
    Text(cr,
         "least " + fixed(*left.wall_mm[*thinnest], 2) + " mm at " +
             fixed(left.depth_mm[*thinnest], 1),
         words(paper::quiet))
        .draw_on_baseline(x_of(lane.depth_mm.back()) + 4, base - 1);
}

void RulerDrawing::draw_bar(cairo_t* cr, const RulerBar& bar, double y) const {
    const double baseline = y + 2.4;
    const double mark_width = 31;
    Text(cr, bar.mark, words(paper::quiet), mark_width).draw_on_baseline(0, baseline);
    if (bar.size_mm) {
        size_colour(*bar.size_mm).set(cr);
        cairo_new_path(cr);
        cairo_arc(cr, mark_width + 3, y, 2, 0, 2 * std::numbers::pi);
        cairo_fill_preserve(cr);
        paper::ink.set(cr);
        cairo_set_line_width(cr, 0.35);
        cairo_stroke(cr);
    }
    Text(cr, bar.label, words(), left_ - mark_width - 14)
        .draw_on_baseline(mark_width + 8, baseline);
    const double end = x_of(bar.ends_mm);
    stroke(cr, x_of(0), y, end, y, 1.7, paper::ink);
    for (auto [from, to] : bar.binds_mm) hatch(cr, x_of(from), x_of(to), y - 2.7, y + 2.7);
    stroke(cr, end, y - 4, end, y + 4, 1.2, paper::ink);
    const std::string words_markup = fixed(bar.ends_mm, 1) + " <span foreground=\"#5b6570\">" +
                                     escaped(bar.end_word) + "</span>";
    Text(cr, words_markup, words(), std::max(20.0, width_ - end - 4), true)
        .draw_on_baseline(end + 4, baseline);
}

std::string RulerDrawing::caption() const {
    const std::string factor = fixed(width_factor_, 1);
    return "Depths from the reference point on the crown, crown left, apex right. Each canal is "
           "drawn straight: "
           "dentine (sand) at the scale of the depths, the thin side below, cut at " +
           fixed(thickest_mm, 0) + " mm; the canal (green) " +
           (width_factor_ > 1 ? factor + " times as wide as it is"
                              : std::string("at the same scale")) +
           ", dashed as the plan would shape it. The shade at the foramen is twice its standard "
           "deviation. The "
           "strip below shows how sharply the canal bends, the next what the order leaves of the "
           "wall inside the bend, underlined where it is that toward the furcation. A bar ends "
           "where the device ends, "
           "hatched where it "
           "fills the canal; the word says what ends it.";
}

}  // namespace anfract

#include "section_view.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "anfract/tooth/measures.h"
#include "colour.h"
#include "text.h"

namespace anfract {
namespace {

constexpr double margin_mm = 1.5;
constexpr double pixel_mm = 0.1;

ViewFrame frame(std::string title, const Vec3& toward, const Vec3& up) {
    Vec3 across = toward - toward.dot(up) * up;
    if (across.norm() < 1e-6) across = up.unitOrthogonal();
    ViewFrame made{std::move(title), {}, up, across.normalized()};
    made.right_P = up.cross(made.toward_P);
    return made;
}

/// Grey values shown as black and white: all but the outermost parts of what is in the brick.
std::pair<float, float> window(const Brick& brick) {
    std::vector<float> sample;
    const std::size_t step = std::max<std::size_t>(1, brick.grey.size() / 20000);
    for (std::size_t i = 0; i < brick.grey.size(); i += step) sample.push_back(brick.grey[i]);
    std::sort(sample.begin(), sample.end());
    const auto at = [&](double share) {
        return sample[std::size_t(share * double(sample.size() - 1))];
    };
    const float low = at(0.02), high = at(0.998);
    return {low, std::max(high, low + 1)};
}

using Interval = std::pair<double, double>;

std::vector<Interval> merged(std::vector<Interval> intervals) {
    std::sort(intervals.begin(), intervals.end());
    std::vector<Interval> result;
    for (const Interval& interval : intervals) {
        if (!result.empty() && interval.first <= result.back().second + 0.02) {
            result.back().second = std::max(result.back().second, interval.second);
        } else {
            result.push_back(interval);
        }
    }
    return result;
}

}  // namespace

std::array<ViewFrame, 2> view_frames(const Tooth& tooth) {
    const ClinicalFrame clinical = clinical_frame(tooth.fdi, tooth_axis(tooth));
    const Vec3 up = -clinical.apical;
    if (!clinical.known) {
        return {frame("From the patient's left", clinical.buccal, up),
                frame("From the patient's front", clinical.mesial, up)};
    }
    return {frame("Clinical view, from buccal", clinical.buccal, up),
            frame("View across, from mesial", clinical.mesial, up)};
}

SectionView::SectionView(const Tooth& tooth, ViewFrame frame, const Brick* scan)
    : tooth_(tooth), frame_(std::move(frame)), scan_(scan) {
    left_ = bottom_ = 1e9;
    right_ = top_ = -1e9;
    const auto include = [&](const Vec3& p) {
        left_ = std::min(left_, p.x());
        right_ = std::max(right_, p.x());
        bottom_ = std::min(bottom_, p.y());
        top_ = std::max(top_, p.y());
    };
    for (const Canal& canal : tooth.canals) {
        std::vector<Vec3> line;
        for (const CanalSample& sample : canal.samples) {
            line.push_back(in_view(sample.point_P));
            const double reach = sample.diameter_mm / 2 + sample.wall_min_mm.value_or(0.5);
            include(line.back() + Vec3(reach, 0, 0));
            include(line.back() - Vec3(reach, 0, 0));
        }
        canals_.push_back(std::move(line));
    }
    include(in_view(tooth.reference_P));
    if (tooth.surface) {
        for (const Vec3& vertex : tooth.surface->vertices_P) include(in_view(vertex));
    }
    left_ -= margin_mm;
    right_ += margin_mm;
    bottom_ -= margin_mm;
    top_ += margin_mm;
}

Vec3 SectionView::in_view(const Vec3& point_P) const {
    return {point_P.dot(frame_.right_P), point_P.dot(frame_.up_P), point_P.dot(frame_.toward_P)};
}

double SectionView::sheet_toward(double across_mm, double up_mm) const {
    double sum = 0, weights = 0;
    for (const std::vector<Vec3>& line : canals_) {
        // The nearest height on the centreline; beyond its ends the cut goes straight on.
        const auto near =
            std::min_element(line.begin(), line.end(), [&](const Vec3& a, const Vec3& b) {
                return std::abs(a.y() - up_mm) < std::abs(b.y() - up_mm);
            });
        const double gap = across_mm - near->x();
        const double weight = 1 / (gap * gap + 0.01);
        sum += weight * near->z();
        weights += weight;
    }
    return sum / weights;
}

void SectionView::draw_scan(cairo_t* cr, double) const {
    const int columns = int(width_mm() / pixel_mm), rows = int(height_mm() / pixel_mm);
    cairo_surface_t* image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, columns, rows);
    unsigned char* data = cairo_image_surface_get_data(image);
    const int stride = cairo_image_surface_get_stride(image);
    const auto [low, high] = window(*scan_);
    for (int row = 0; row < rows; ++row) {
        auto* pixels = reinterpret_cast<std::uint32_t*>(data + std::ptrdiff_t(row) * stride);
        for (int column = 0; column < columns; ++column) {
            const double right = left_ + (column + 0.5) * pixel_mm;
            const double up = top_ - (row + 0.5) * pixel_mm;
            const Vec3 point_P = right * frame_.right_P + up * frame_.up_P +
                                 sheet_toward(right, up) * frame_.toward_P;
            float share = 0;
            if (scan_->geometry.contains(point_P)) {
                const float grey = interpolate(*scan_, scan_->geometry.to_voxel(point_P));
                share = std::clamp((grey - low) / (high - low), 0.0f, 1.0f);
            }
            const auto level = std::uint32_t(std::lround(share * 255));
            pixels[column] = level << 16 | level << 8 | level;
        }
    }
    cairo_surface_mark_dirty(image);
    cairo_save(cr);
    cairo_translate(cr, left_, top_);
    cairo_scale(cr, width_mm() / columns, -height_mm() / rows);
    cairo_set_source_surface(cr, image, 0, 0);
    cairo_paint(cr);
    cairo_restore(cr);
    cairo_surface_destroy(image);
}

void SectionView::draw_surface(cairo_t* cr, const Surface& surface) const {
    std::map<int, std::vector<Interval>> rows;
    for (const auto& triangle : surface.triangles) {
        Vec3 corner[3];
        for (int k = 0; k < 3; ++k)
            corner[k] = in_view(surface.vertices_P[std::size_t(triangle[std::size_t(k)])]);
        const auto [low, high] = std::minmax({corner[0].y(), corner[1].y(), corner[2].y()});
        for (int row = int(std::ceil(low / pixel_mm)); row <= int(std::floor(high / pixel_mm));
             ++row) {
            const double up = row * pixel_mm;
            double from = 1e9, to = -1e9;
            for (int k = 0; k < 3; ++k) {
                const Vec3 &a = corner[k], &b = corner[(k + 1) % 3];
                if ((a.y() - up) * (b.y() - up) > 0) continue;
                const double t = a.y() == b.y() ? 0 : (up - a.y()) / (b.y() - a.y());
                const double x = a.x() + t * (b.x() - a.x());
                from = std::min(from, x);
                to = std::max(to, x);
            }
            if (from <= to) rows[row].emplace_back(from, to);
        }
    }
    for (const auto& [row, intervals] : rows) {
        for (auto [from, to] : merged(intervals)) {
            cairo_rectangle(cr, from, (row - 0.5) * pixel_mm, to - from, 1.15 * pixel_mm);
        }
    }
    cairo_fill(cr);
}

void SectionView::draw_tubes(cairo_t* cr, bool with_wall) const {
    for (std::size_t c = 0; c < canals_.size(); ++c) {
        const std::vector<Vec3>& line = canals_[c];
        const Canal& canal = tooth_.canals[c];
        for (std::size_t i = 0; i + 1 < line.size(); ++i) {
            const auto reach = [&](std::size_t k) {
                const CanalSample& sample = canal.samples[k];
                return sample.diameter_mm / 2 + (with_wall ? sample.wall_min_mm.value_or(0) : 0);
            };
            cairo_set_line_width(cr, reach(i) + reach(i + 1));
            cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
            cairo_move_to(cr, line[i].x(), line[i].y());
            cairo_line_to(cr, line[i + 1].x(), line[i + 1].y());
            cairo_stroke(cr);
        }
    }
}

void SectionView::draw_model(cairo_t* cr) const {
    paper::dentine.set(cr);
    if (tooth_.surface) {
        draw_surface(cr, *tooth_.surface);
    } else {
        draw_tubes(cr, true);
    }
    Colour{0.72, 0.83, 0.80}.set(cr);
    if (tooth_.chamber) draw_surface(cr, *tooth_.chamber);
    paper::canal.set(cr);
    draw_tubes(cr, false);
}

void SectionView::draw_centrelines(cairo_t* cr, double line_mm) const {
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    for (std::size_t c = 0; c < canals_.size(); ++c) {
        const Colour colour = scan_ ? Colour::hex(0x35d0c4) : paper::ink;
        for (const Vec3& p : canals_[c]) cairo_line_to(cr, p.x(), p.y());
        colour.set(cr);
        cairo_set_line_width(cr, line_mm);
        cairo_stroke(cr);
        // A dot every 5 mm of depth ties the picture to the ruler.
        const auto& samples = tooth_.canals[c].samples;
        for (std::size_t i = 1; i < samples.size(); ++i) {
            if (std::floor(samples[i].depth_mm / 5) == std::floor(samples[i - 1].depth_mm / 5))
                continue;
            cairo_arc(cr, canals_[c][i].x(), canals_[c][i].y(), 2.2 * line_mm, 0, 6.2832);
            cairo_fill(cr);
        }
    }
}

void SectionView::draw_names(cairo_t* cr, double points_per_mm) const {
    // Each name as near below its foramen as there is room, in the first row where it lies on no
    // other.
    const TextStyle style{.size_pt = 7.2, .bold = true, .one_line = true};
    const double width = width_mm() * points_per_mm, longest = 44;
    std::vector<std::pair<double, std::string>> names;
    for (std::size_t c = 0; c < canals_.size(); ++c) {
        names.emplace_back((canals_[c].back().x() - left_) * points_per_mm, tooth_.canals[c].name);
    }
    std::sort(names.begin(), names.end());
    std::array<double, name_rows> row_end;
    row_end.fill(-1e9);
    for (const auto& [at, name] : names) {
        const Text text(cr, name, style, std::min(longest, Text(cr, name, style).width_pt() + 0.5));
        double x =
            std::clamp(at - text.width_pt() / 2, 0.0, std::max(0.0, width - text.width_pt()));
        auto row =
            std::find_if(row_end.begin(), row_end.end(), [&](double end) { return end < x; });
        if (row == row_end.end()) {
            row = std::min_element(row_end.begin(), row_end.end());
            x = *row;
        }
        const double y = height_mm() * points_per_mm + 8.5 * double(row - row_end.begin() + 1);
        text.draw_on_baseline(x, y);
        *row = x + text.width_pt() + 4;
    }
}

void SectionView::draw(cairo_t* cr, double x_pt, double y_pt, double points_per_mm) const {
    cairo_save(cr);
    cairo_translate(cr, x_pt, y_pt);
    const double width = width_mm() * points_per_mm, height = height_mm() * points_per_mm;
    cairo_save(cr);
    cairo_rectangle(cr, 0, 0, width, height);
    cairo_clip(cr);
    // From here one unit is a millimetre, (right, up) as in the view.
    cairo_scale(cr, points_per_mm, -points_per_mm);
    cairo_translate(cr, -left_, -top_);
    if (scan_) {
        draw_scan(cr, points_per_mm);
    } else {
        draw_model(cr);
    }
    draw_centrelines(cr, (scan_ ? 0.9 : 0.6) / points_per_mm);
    cairo_restore(cr);
    paper::rule.set(cr);
    cairo_set_line_width(cr, 0.5);
    cairo_rectangle(cr, 0, 0, width, height);
    cairo_stroke(cr);
    draw_names(cr, points_per_mm);
    // Scale: 5 mm, at the lower left inside the picture.
    (scan_ ? paper::sheet : paper::ink).set(cr);
    cairo_set_line_width(cr, 1.2);
    cairo_move_to(cr, 6, height - 6);
    cairo_line_to(cr, 6 + 5 * points_per_mm, height - 6);
    cairo_stroke(cr);
    Text(cr, "5 mm", {.size_pt = 6.6, .colour = scan_ ? paper::sheet : paper::ink})
        .draw_on_baseline(6, height - 9);
    cairo_restore(cr);
}

}  // namespace anfract

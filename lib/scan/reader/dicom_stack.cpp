#include "dicom_stack.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <set>

namespace anfract {
namespace {

std::string rounded(double value, const char* format = "%.3g") {
    char text[48];
    std::snprintf(text, sizeof text, format, value);
    return text;
}

/// The slices being stacked, with the words for messages about them.
class Stacker {
  public:
    Stacker(const std::vector<DicomFile>& files, const std::string& where)
        : files_(files), where_(where) {}

    Result<Stack> run() {
        for (const auto step :
             {&Stacker::gather, &Stacker::keep_largest_group, &Stacker::sort, &Stacker::drop_copies,
              &Stacker::check_doubled, &Stacker::check_missing, &Stacker::check_spacing,
              &Stacker::check_sideways}) {
            if (auto done = (this->*step)(); !done) return tl::unexpected(done.error());
        }
        finish_geometry();
        return std::move(stack_);
    }

  private:
    const DicomFrame& frame(const StackSlice& s) const { return files_[s.file].frames[s.frame]; }

    tl::unexpected<Error> refuse(std::string what, std::string remedy,
                                 ErrorCode code = ErrorCode::BadInput) const {
        return fail(code, std::move(what), where_, std::move(remedy));
    }

    /// "image 12 (slice-012.dcm)" or "frame 12".
    std::string name(const StackSlice& s) const {
        const DicomFile& file = files_[s.file];
        if (file.frames.size() > 1) return "frame " + std::to_string(s.frame + 1);
        return "image " + std::to_string(file.instance_number) + " (" +
               file.path.filename().string() + ")";
    }

    Result<void> gather() {
        for (std::size_t f = 0; f < files_.size(); ++f) {
            for (std::size_t n = 0; n < files_[f].frames.size(); ++n) {
                const StackSlice slice{f, n, 0};
                const DicomFrame& here = frame(slice);
                if (!here.has_position || !here.has_orientation) {
                    return refuse(name(slice) + " has no position or orientation in the patient",
                                  "export the scan as a CT series with positions");
                }
                if (!(here.column_step_mm > 0 && here.row_step_mm > 0 &&
                      here.column_step_mm < 100 && here.row_step_mm < 100)) {
                    return refuse(name(slice) + " has no usable pixel spacing",
                                  "export the scan as a CT series with its pixel spacing");
                }
                if (std::abs(here.along_row_P.dot(here.down_column_P)) > 0.01) {
                    return refuse(
                        name(slice) + " has rows and columns that are not at right angles",
                        "export the scan again");
                }
                stack_.slices.push_back(slice);
            }
        }
        return {};
    }

    bool alike(const StackSlice& a, const StackSlice& b) const {
        const PixelLayout& la = files_[a.file].layout;
        const PixelLayout& lb = files_[b.file].layout;
        const DicomFrame& fa = frame(a);
        const DicomFrame& fb = frame(b);
        return la.rows == lb.rows && la.columns == lb.columns &&
               fa.along_row_P.dot(fb.along_row_P) > 1 - 1e-5 &&
               fa.down_column_P.dot(fb.down_column_P) > 1 - 1e-5 &&
               std::abs(fa.column_step_mm - fb.column_step_mm) < 0.002 * fa.column_step_mm &&
               std::abs(fa.row_step_mm - fb.row_step_mm) < 0.002 * fa.row_step_mm;
    }

    /// Overview images often share the series of the scan. A few odd ones are left out; more are
    /// refused.
    Result<void> keep_largest_group() {
        std::vector<std::vector<StackSlice>> groups;
        for (const StackSlice& s : stack_.slices) {
            const auto group = std::find_if(groups.begin(), groups.end(),
                                            [&](const auto& g) { return alike(g.front(), s); });
            if (group != groups.end()) {
                group->push_back(s);
            } else {
                groups.push_back({s});
            }
            if (groups.size() > 64) break;
        }
        const auto largest =
            std::max_element(groups.begin(), groups.end(),
                             [](const auto& a, const auto& b) { return a.size() < b.size(); });
        const std::size_t others = stack_.slices.size() - largest->size();
        if (others > 3 || others >= largest->size()) {
            return refuse("the series mixes images of different size, orientation or pixel spacing",
                          "export the scan itself as a series of its own");
        }
        if (others > 0) {
            stack_.problems.push_back(std::to_string(others) +
                                      " image(s) of another size or orientation were left out.");
        }
        stack_.slices = std::move(*largest);
        return {};
    }

    Result<void> sort() {
        const DicomFrame& first = frame(stack_.slices.front());
        const Vec3 i_axis = first.along_row_P;
        const Vec3 j_axis =
            (first.down_column_P - i_axis * i_axis.dot(first.down_column_P)).normalized();
        stack_.geometry.direction << i_axis, j_axis, i_axis.cross(j_axis);
        normal_ = stack_.geometry.direction.col(2);
        for (StackSlice& s : stack_.slices) s.depth_mm = normal_.dot(frame(s).position_P);
        std::stable_sort(
            stack_.slices.begin(), stack_.slices.end(),
            [](const StackSlice& a, const StackSlice& b) { return a.depth_mm < b.depth_mm; });
        return {};
    }

    /// The same image under two file names is one slice.
    Result<void> drop_copies() {
        std::set<std::pair<std::string, std::size_t>> seen;
        std::string example;
        const std::size_t before = stack_.slices.size();
        std::erase_if(stack_.slices, [&](const StackSlice& s) {
            const std::string& uid = files_[s.file].sop_uid;
            const bool copy = !uid.empty() && !seen.insert({uid, s.frame}).second;
            if (copy && example.empty()) example = name(s);
            return copy;
        });
        if (const std::size_t copies = before - stack_.slices.size(); copies > 0) {
            stack_.problems.push_back(std::to_string(copies) +
                                      " doubled image(s) were left out, such as " + example + ".");
        }
        return {};
    }

    double gap_mm(std::size_t n) const {
        return stack_.slices[n + 1].depth_mm - stack_.slices[n].depth_mm;
    }

    Result<void> check_doubled() {
        if (stack_.slices.size() < 2) return {};
        std::vector<double> gaps;
        for (std::size_t n = 0; n + 1 < stack_.slices.size(); ++n) gaps.push_back(gap_mm(n));
        std::nth_element(gaps.begin(), gaps.begin() + std::ptrdiff_t(gaps.size() / 2), gaps.end());
        usual_gap_mm_ = gaps[gaps.size() / 2];
        std::size_t doubled = 0;
        std::string example;
        for (std::size_t n = 0; n + 1 < stack_.slices.size(); ++n) {
            if (gap_mm(n) > std::max(0.05 * usual_gap_mm_, 1e-4)) continue;
            if (doubled++ == 0)
                example = name(stack_.slices[n]) + " and " + name(stack_.slices[n + 1]);
        }
        if (doubled == 0) return {};
        return refuse(std::to_string(doubled) +
                          " slice(s) are there twice with different content: " + example +
                          " lie at the same place",
                      "export one scan only, without repeated slices");
    }

    Result<void> check_missing() {
        std::size_t missing = 0;
        std::size_t places = 0;
        std::string text;
        for (std::size_t n = 0; n + 1 < stack_.slices.size(); ++n) {
            const double ratio = gap_mm(n) / usual_gap_mm_;
            const double steps = std::round(ratio);
            if (steps < 2 || std::abs(ratio - steps) > 0.15) continue;
            missing += std::size_t(steps) - 1;
            if (++places > 3) continue;
            text += (places > 1 ? ", " : "") + std::to_string(int(steps) - 1) + " between " +
                    name(stack_.slices[n]) + " and " + name(stack_.slices[n + 1]);
        }
        if (missing == 0) return {};
        if (places > 3) text += " and in " + std::to_string(places - 3) + " more places";
        return refuse(std::to_string(missing) +
                          (missing == 1 ? " slice is missing: " : " slices are missing: ") + text,
                      "copy or export the whole series again");
    }

    Result<void> check_spacing() {
        const std::size_t count = stack_.slices.size();
        const StackSlice& first = stack_.slices.front();
        if (count == 1) {
            const double thickness = frame(first).thickness_mm;
            spacing_mm_ = thickness > 0 ? thickness : frame(first).row_step_mm;
            stack_.problems.push_back(
                "The scan is a single slice, so nothing can be measured across it.");
            return {};
        }
        spacing_mm_ = (stack_.slices.back().depth_mm - first.depth_mm) / double(count - 1);
        double worst = 0;
        std::size_t where = 0;
        for (std::size_t n = 0; n < count; ++n) {
            const double off =
                stack_.slices[n].depth_mm - (first.depth_mm + double(n) * spacing_mm_);
            if (std::abs(off) > worst) {
                worst = std::abs(off);
                where = n;
            }
        }
        const std::string said = "the slices are unevenly spaced: " + name(stack_.slices[where]) +
                                 " lies " + rounded(worst) + " mm from its place in a grid of " +
                                 rounded(spacing_mm_) + " mm";
        if (worst > 0.25 * spacing_mm_)
            return refuse(said, "export the series with one slice spacing");
        if (worst > 0.1 * spacing_mm_) {
            stack_.problems.push_back("T" + said.substr(1) + ".");
        }
        return {};
    }

    /// How far the origins wander from the normal through the first one.
    Result<void> check_sideways() {
        const StackSlice& first = stack_.slices.front();
        const StackSlice& last = stack_.slices.back();
        const auto sideways = [&](const StackSlice& s) -> Vec3 {
            const Vec3 d = frame(s).position_P - frame(first).position_P;
            return d - normal_ * normal_.dot(d);
        };
        const double length = std::max(last.depth_mm - first.depth_mm, 1e-9);
        double largest = 0;
        double off_line = 0;
        for (const StackSlice& s : stack_.slices) {
            largest = std::max(largest, sideways(s).norm());
            const double part = (s.depth_mm - first.depth_mm) / length;
            off_line = std::max(off_line, (sideways(s) - part * sideways(last)).norm());
        }
        const double pixel = std::min(frame(first).column_step_mm, frame(first).row_step_mm);
        if (largest <= 0.5 * pixel) {
            if (largest > 0.1 * pixel) {
                stack_.problems.push_back("The slices wander sideways by up to " +
                                          rounded(largest) + " mm.");
            }
            return {};
        }
        if (off_line < 0.25 * pixel) {
            const double degrees =
                std::atan2(sideways(last).norm(), length) * 180 / std::numbers::pi;
            return refuse("the gantry was tilted: the slices are stacked at " +
                              rounded(degrees, "%.1f") + " degrees to their normal",
                          "have the scan reformatted to straight slices", ErrorCode::Unsupported);
        }
        return refuse("the slices are shifted sideways against each other by up to " +
                          rounded(largest) + " mm",
                      "have the scan reformatted to straight slices", ErrorCode::Unsupported);
    }

    void finish_geometry() {
        const StackSlice& first = stack_.slices.front();
        const PixelLayout& layout = files_[first.file].layout;
        GridGeometry& g = stack_.geometry;
        g.size = {layout.columns, layout.rows, int(stack_.slices.size())};
        g.spacing_mm = Vec3(frame(first).column_step_mm, frame(first).row_step_mm, spacing_mm_);
        g.origin_P = frame(first).position_P;
    }

    const std::vector<DicomFile>& files_;
    const std::string& where_;
    Stack stack_;
    Vec3 normal_{0, 0, 1};
    double usual_gap_mm_ = 0;
    double spacing_mm_ = 1;
};

}  // namespace

Result<Stack> stack_slices(const std::vector<DicomFile>& files, const std::string& where) {
    return Stacker(files, where).run();
}

}  // namespace anfract

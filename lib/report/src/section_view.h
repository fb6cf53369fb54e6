#pragma once

#include <cairo.h>

#include <array>
#include <string>
#include <vector>

#include "anfract/scan/volume.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// A lengthwise look at a tooth, crown up.
struct ViewFrame {
    std::string title;
    Vec3 right_P{1, 0, 0};    ///< to the right of the picture
    Vec3 up_P{0, 0, 1};       ///< toward the crown
    Vec3 toward_P{0, -1, 0};  ///< toward the viewer
};

/// The clinical view, from buccal, and the view across it, from mesial; without a tooth number from
/// the patient's left and front. @pre at least one canal of at least two samples
std::array<ViewFrame, 2> view_frames(const Tooth& tooth);

/// Rows of 8.5 points that the names below a picture may take.
constexpr int name_rows = 3;

/// One such picture of a tooth, from the scan when there is one, else from the tooth's model.
///
/// The scan is cut along a curved sheet that passes through every canal's centreline: at each
/// height the cut lies as far toward the viewer as the canals nearby do.
class SectionView {
  public:
    /// @pre every canal has samples; `scan` outlives the view
    SectionView(const Tooth& tooth, ViewFrame frame, const Brick* scan);

    double width_mm() const { return right_ - left_; }
    double height_mm() const { return top_ - bottom_; }
    /// Draws with the top left corner at (x, y), `points_per_mm` large; names and scale come below.
    void draw(cairo_t* cr, double x_pt, double y_pt, double points_per_mm) const;

  private:
    Vec3 in_view(const Vec3& point_P) const;
    double sheet_toward(double across_mm, double up_mm) const;
    void draw_scan(cairo_t* cr, double points_per_mm) const;
    void draw_model(cairo_t* cr) const;
    void draw_surface(cairo_t* cr, const Surface& surface) const;
    void draw_tubes(cairo_t* cr, bool with_wall) const;
    void draw_centrelines(cairo_t* cr, double line_mm) const;
    void draw_names(cairo_t* cr, double points_per_mm) const;

    const Tooth& tooth_;
    ViewFrame frame_;
    const Brick* scan_;
    std::vector<std::vector<Vec3>> canals_;  ///< centrelines as (right, up, toward)
    double left_ = 0, right_ = 0, bottom_ = 0, top_ = 0;
};

}  // namespace anfract

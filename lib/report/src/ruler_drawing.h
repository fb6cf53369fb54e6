#pragma once

#include <cairo.h>

#include <span>
#include <string>
#include <vector>

#include "ruler_lanes.h"

namespace anfract {

/// The depth ruler laid out at a given width: one horizontal scale of depth, a lane for each canal.
class RulerDrawing {
  public:
    /// @pre lanes not empty
    RulerDrawing(std::vector<RulerLane> lanes, double width_pt);

    double height_pt() const;
    /// Points from the top to the end of lane `i`, so that a caller can see how many lanes fit.
    double height_to_pt(std::size_t lane) const;
    void draw(cairo_t* cr, double x_pt, double y_pt) const;
    /// What the picture shows, for the line under it.
    std::string caption() const;

  private:
    double lane_height_pt(const RulerLane& lane) const;
    /// From the band to the bars: the strips for the bend and for the wall left.
    double strips_height_pt(const RulerLane& lane) const;
    double band_height_pt(const RulerLane& lane) const;  ///< dentine and canal
    double reach_above_pt(const RulerLane& lane) const;
    double reach_below_pt(const RulerLane& lane) const;
    double x_of(double depth_mm) const { return left_ + depth_mm * scale_; }
    double half_width_pt(double width_mm) const { return width_mm * scale_ * width_factor_ / 2; }

    void draw_scale(cairo_t* cr) const;
    void draw_lane(cairo_t* cr, const RulerLane& lane, double top) const;
    void draw_crown(cairo_t* cr, const RulerLane& lane, double axis) const;
    void draw_dentine(cairo_t* cr, const RulerLane& lane, double axis) const;
    void draw_canal(cairo_t* cr, const RulerLane& lane, double axis) const;
    void draw_end(cairo_t* cr, const RulerLane& lane, double top, double bottom) const;
    void draw_bends(cairo_t* cr, const RulerLane& lane, double base) const;
    void draw_left(cairo_t* cr, const RulerLane& lane, double base) const;
    void draw_bar(cairo_t* cr, const RulerBar& bar, double y) const;

    std::vector<RulerLane> lanes_;
    double width_;
    double left_, right_;  ///< columns of words at both sides
    double scale_;         ///< points per millimetre, both ways
    double width_factor_;  ///< how much wider than true the canal is drawn
    double depth_max_;
};

}  // namespace anfract

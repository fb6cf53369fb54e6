#include "anfract/report/ruler.h"

#include <cairo-svg.h>

#include <cmath>

#include "colour.h"
#include "ruler_drawing.h"

namespace anfract {
namespace {

constexpr double margin = 8;

cairo_status_t append(void* bytes, const unsigned char* data, unsigned length) {
    static_cast<std::string*>(bytes)->append(reinterpret_cast<const char*>(data), length);
    return CAIRO_STATUS_SUCCESS;
}

Result<RulerDrawing> drawing_of(const Plan& plan, double width_pt) {
    std::vector<RulerLane> lanes = ruler_lanes(plan);
    if (lanes.empty()) {
        return fail(ErrorCode::BadInput, "the plan has no canal to draw", "plan",
                    "make it from a tooth with at least one canal");
    }
    return RulerDrawing(std::move(lanes), width_pt - 2 * margin);
}

void draw_on_white(cairo_t* cr, const RulerDrawing& drawing) {
    paper::sheet.set(cr);
    cairo_paint(cr);
    drawing.draw(cr, margin, margin);
}

}  // namespace

Result<std::string> ruler_svg(const Plan& plan, double width_pt) {
    const Result<RulerDrawing> drawing = drawing_of(plan, width_pt);
    if (!drawing) return tl::unexpected(drawing.error());
    std::string bytes;
    cairo_surface_t* surface = cairo_svg_surface_create_for_stream(
        append, &bytes, width_pt, drawing->height_pt() + 2 * margin);
    cairo_t* cr = cairo_create(surface);
    draw_on_white(cr, *drawing);
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    return bytes;
}

Result<std::string> ruler_png(const Plan& plan, double width_pt, double pixels_per_pt) {
    const Result<RulerDrawing> drawing = drawing_of(plan, width_pt);
    if (!drawing) return tl::unexpected(drawing.error());
    std::string bytes;
    cairo_surface_t* surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, int(std::ceil(width_pt * pixels_per_pt)),
        int(std::ceil((drawing->height_pt() + 2 * margin) * pixels_per_pt)));
    cairo_t* cr = cairo_create(surface);
    cairo_scale(cr, pixels_per_pt, pixels_per_pt);
    draw_on_white(cr, *drawing);
    cairo_destroy(cr);
    cairo_surface_write_to_png_stream(surface, append, &bytes);
    cairo_surface_destroy(surface);
    return bytes;
}

}  // namespace anfract

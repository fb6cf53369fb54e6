#include "anfract/report/key_pictures.h"

#include <cmath>

#include "colour.h"
#include "ruler_drawing.h"
#include "section_view.h"
#include "sheets.h"

namespace anfract {
namespace {

constexpr double margin_pt = 8, pixels_per_pt = 2;

KeyPicture picture_of(std::string name, std::string title, double width_pt, double height_pt,
                      const Draw& draw) {
    KeyPicture picture{std::move(name), std::move(title),
                       int(std::ceil((width_pt + 2 * margin_pt) * pixels_per_pt)),
                       int(std::ceil((height_pt + 2 * margin_pt) * pixels_per_pt)), ""};
    cairo_surface_t* surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width_px, picture.height_px);
    cairo_t* cr = cairo_create(surface);
    cairo_scale(cr, pixels_per_pt, pixels_per_pt);
    paper::sheet.set(cr);
    cairo_paint(cr);
    draw(cr, margin_pt, margin_pt);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    const unsigned char* const rows = cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    picture.rgb.reserve(std::size_t(picture.width_px) * std::size_t(picture.height_px) * 3);
    for (int y = 0; y < picture.height_px; ++y) {
        const auto* const row =
            reinterpret_cast<const std::uint32_t*>(rows + std::ptrdiff_t(y) * stride);
        for (int x = 0; x < picture.width_px; ++x) {
            for (const int shift : {16, 8, 0}) picture.rgb += char((row[x] >> shift) & 0xff);
        }
    }
    cairo_surface_destroy(surface);
    return picture;
}

}  // namespace

Result<std::vector<KeyPicture>> key_pictures(const Plan& plan, const Brick* scan) {
    std::vector<RulerLane> lanes = ruler_lanes(plan);
    if (lanes.empty()) {
        return fail(ErrorCode::BadInput, "the plan has no canal to draw", "plan",
                    "make it from a tooth with at least one canal");
    }
    std::vector<KeyPicture> pictures;
    constexpr double width_pt = 482;
    const RulerDrawing ruler(std::move(lanes), width_pt);
    pictures.push_back(picture_of("ruler", "Depth ruler of the plan", width_pt, ruler.height_pt(),
                                  [&](cairo_t* cr, double x, double y) { ruler.draw(cr, x, y); }));
    const auto frames = view_frames(plan.tooth);
    const char* const names[] = {"section-buccal", "section-mesial"};
    for (std::size_t i = 0; i < 2; ++i) {
        const SectionView view(plan.tooth, frames[i], scan);
        const double scale = std::min(width_pt / view.width_mm(), 400 / view.height_mm());
        pictures.push_back(
            picture_of(names[i], frames[i].title.substr(0, 64), view.width_mm() * scale,
                       view.height_mm() * scale + 8.5 * name_rows,
                       [&](cairo_t* cr, double x, double y) { view.draw(cr, x, y, scale); }));
    }
    return pictures;
}

}  // namespace anfract

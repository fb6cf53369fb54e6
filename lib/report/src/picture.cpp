#include "picture.h"

#include <turbojpeg.h>

#include <algorithm>

namespace anfract {
namespace {

constexpr int most_pixels = 8000;

/// Bytes that are read from the front.
struct Bytes {
    const std::string& all;
    std::size_t next;
};

cairo_status_t read(void* from, unsigned char* to, unsigned length) {
    auto& bytes = *static_cast<Bytes*>(from);
    if (bytes.all.size() - bytes.next < length) return CAIRO_STATUS_READ_ERROR;
    std::copy_n(bytes.all.data() + bytes.next, length, reinterpret_cast<char*>(to));
    bytes.next += length;
    return CAIRO_STATUS_SUCCESS;
}

tl::unexpected<Error> unreadable(const std::string& what) {
    return fail(ErrorCode::BadInput, what, "picture", "give another PNG or JPEG file");
}

/// Width and height as a PNG's first chunk, IHDR, has them (ISO/IEC 15948, 11.2.2); 0 if it has
/// none.
std::pair<unsigned, unsigned> png_size(const std::string& bytes) {
    if (bytes.size() < 24 || bytes.compare(12, 4, "IHDR") != 0) return {0, 0};
    const auto number = [&](std::size_t at) {
        unsigned value = 0;
        for (std::size_t i = at; i < at + 4; ++i)
            value = value << 8 | static_cast<unsigned char>(bytes[i]);
        return value;
    };
    return {number(16), number(20)};
}

bool is_fit(long width, long height) {
    return width > 0 && height > 0 && width <= most_pixels && height <= most_pixels;
}

Result<Picture> png(const std::string& bytes) {
    const auto [width, height] = png_size(bytes);
    if (!is_fit(width, height)) return unreadable("is empty or too large");
    Bytes all{bytes, 0};
    Picture picture(cairo_image_surface_create_from_png_stream(read, &all));
    if (cairo_surface_status(picture.get()) != CAIRO_STATUS_SUCCESS)
        return unreadable("is damaged");
    return picture;
}

Result<Picture> jpeg(const std::string& bytes) {
    struct Close {
        void operator()(void* reader) const { tjDestroy(reader); }
    };
    const std::unique_ptr<void, Close> reader(tjInitDecompress());
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    int width = 0, height = 0, sampling = 0, colours = 0;
    if (!reader || tjDecompressHeader3(reader.get(), data, bytes.size(), &width, &height, &sampling,
                                       &colours) != 0)
        return unreadable("is damaged");
    if (!is_fit(width, height)) return unreadable("is empty or too large");
    Picture picture(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height));
    if (cairo_surface_status(picture.get()) != CAIRO_STATUS_SUCCESS)
        return unreadable("is too large");
    cairo_surface_flush(picture.get());
    // A warning, as of a file cut short, ends it too: half a radiograph must not pass for one.
    if (tjDecompress2(reader.get(), data, bytes.size(), cairo_image_surface_get_data(picture.get()),
                      width, cairo_image_surface_get_stride(picture.get()), height, TJPF_BGRX,
                      TJFLAG_ACCURATEDCT) != 0)
        return unreadable("is damaged");
    cairo_surface_mark_dirty(picture.get());
    return picture;
}

}  // namespace

Result<Picture> picture_from(const std::string& bytes) {
    if (bytes.starts_with("\x89PNG\r\n\x1a\n")) return png(bytes);
    if (bytes.starts_with("\xff\xd8\xff")) return jpeg(bytes);
    return unreadable("is neither PNG nor JPEG");
}

void draw_picture(cairo_t* cr, const Picture& picture, double x_pt, double y_pt, double scale) {
    cairo_save(cr);
    cairo_translate(cr, x_pt, y_pt);
    cairo_scale(cr, scale, scale);
    cairo_set_source_surface(cr, picture.get(), 0, 0);
    cairo_paint(cr);
    cairo_restore(cr);
}

}  // namespace anfract

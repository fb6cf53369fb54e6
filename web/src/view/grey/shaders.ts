/**
 * One picture is a strip of quads. Each vertex carries where it lies in the patient and how far through the picture a
 * layer reaches; the card interpolates both and gathers the layer for every pixel. A finer brick wins over a coarser. LAYER and COARSE
 * are left out of the programs of pictures that need neither, which are most.
 */
export const VERTEX = `
precision highp float;
in vec2 place;
in vec3 at;
in vec3 through;
uniform mat4 toFine;
out vec3 fineAt;
#ifdef LAYER
out vec3 fineThrough;
#endif
#ifdef COARSE
uniform mat4 toCoarse;
out vec3 coarseAt;
#ifdef LAYER
out vec3 coarseThrough;
#endif
#endif
void main() {
  fineAt = (toFine * vec4(at, 1.0)).xyz;
#ifdef LAYER
  fineThrough = (toFine * vec4(through, 0.0)).xyz;
#endif
#ifdef COARSE
  coarseAt = (toCoarse * vec4(at, 1.0)).xyz;
#ifdef LAYER
  coarseThrough = (toCoarse * vec4(through, 0.0)).xyz;
#endif
#endif
  gl_Position = vec4(place, 0.0, 1.0);
}`;

export const FRAGMENT = `
precision highp float;
precision highp sampler3D;
uniform sampler3D fine; uniform float fineMiddle; uniform vec3 fineEdge;
in vec3 fineAt;
#ifdef COARSE
uniform sampler3D coarse; uniform float coarseMiddle; uniform vec3 coarseEdge;
in vec3 coarseAt;
#endif
#ifdef LAYER
in vec3 fineThrough;
#ifdef COARSE
in vec3 coarseThrough;
#endif
uniform int steps;
uniform int gather;   // 0 mean, 1 greatest, 2 least, 3 what a ray loses
uniform float stepLength_mm;
#endif
uniform vec2 window;  // shown black, shown white; for a ray the same of its sum
out vec4 colour;

bool within(vec3 p, vec3 edge) { return all(greaterThanEqual(p, edge)) && all(lessThanEqual(p, 1.0 - edge)); }

// Grey value at a share t of the way through the layer; false outside all bricks.
bool look(float t, out float grey) {
#ifdef LAYER
  vec3 p = fineAt + t * fineThrough;
#else
  vec3 p = fineAt;
#endif
  if (within(p, fineEdge)) {
    grey = textureLod(fine, p, 0.0).r + fineMiddle;
    return true;
  }
#ifdef COARSE
#ifdef LAYER
  vec3 q = coarseAt + t * coarseThrough;
#else
  vec3 q = coarseAt;
#endif
  if (within(q, coarseEdge)) {
    grey = textureLod(coarse, q, 0.0).r + coarseMiddle;
    return true;
  }
#endif
  return false;
}

void main() {
  float value;
#ifdef LAYER
  float sum = 0.0, most = -1e9, least = 1e9, met = 0.0;
  for (int i = 0; i < steps; i++) {
    float grey;
    if (!look((float(i) + 0.5) / float(steps) - 0.5, grey)) continue;
    met += 1.0;
    sum += gather == 3 ? max(0.0, grey / 1000.0) * stepLength_mm : grey;
    most = max(most, grey);
    least = min(least, grey);
  }
  if (met == 0.0) { colour = vec4(0.0); return; }
  value = gather == 1 ? most : gather == 2 ? least : gather == 3 ? sum : sum / met;
#else
  if (!look(0.0, value)) { colour = vec4(0.0); return; }
#endif
  colour = vec4(vec3((value - window.x) / max(window.y - window.x, 1e-6)), 1.0);
}`;

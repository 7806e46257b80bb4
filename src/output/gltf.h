/* Gltf: relief.glb, every brick as a box in glTF 2.0 binary (ISO/IEC 12113).
 *
 * Metres, +Y up, the face toward +Z, the mural's lower left corner and back at the origin.
 * One mesh, with one node, for each size and colour: its bricks merged, each eight corners
 * and twelve triangles, so that a viewer draws hundreds of things and not a hundred
 * thousand. Corners are not shared between bricks; faces are flat, which is what a mesh
 * without normals means. All meshes use one list of corners' indices. extras of a mesh say
 * its size, colour and number of bricks; those of the asset say how many there are in all. */
#ifndef ROWLOCK_OUTPUT_GLTF_H
#define ROWLOCK_OUTPUT_GLTF_H

#include "base/voice.h"
#include "figures/mural.h"

Status gltf_write(const Mural *mural, const char *path, const Voice *voice, Fault *fault);

#endif

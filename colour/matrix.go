package colour

// matrix3 is a 3×3 matrix in row order. Three rows are too few to call a linear
// algebra package for on every pixel.
type matrix3 [3][3]float64

func (m matrix3) times(v XYZ) XYZ {
	return XYZ{
		m[0][0]*v.X + m[0][1]*v.Y + m[0][2]*v.Z,
		m[1][0]*v.X + m[1][1]*v.Y + m[1][2]*v.Z,
		m[2][0]*v.X + m[2][1]*v.Y + m[2][2]*v.Z,
	}
}

func (m matrix3) timesMatrix(n matrix3) (p matrix3) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				p[i][j] += m[i][k] * n[k][j]
			}
		}
	}
	return p
}

// inverse is Cramer's rule. The matrices of colorimetry are well conditioned.
func (m matrix3) inverse() (inv matrix3) {
	cofactor := func(i, j int) float64 {
		a, b := (i+1)%3, (i+2)%3
		c, d := (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*cofactor(0, 0) + m[0][1]*cofactor(0, 1) + m[0][2]*cofactor(0, 2)
	for i := range 3 {
		for j := range 3 {
			inv[j][i] = cofactor(i, j) / det
		}
	}
	return inv
}

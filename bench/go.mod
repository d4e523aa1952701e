module fettle/bench

go 1.26.0

require (
	fettle v0.0.0
	gonum.org/v1/gonum v0.17.0
)

require go.yaml.in/yaml/v4 v4.0.0 // indirect

replace fettle => ../
